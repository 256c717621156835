// The bar at the foot: what is wrong, what a run would take, how runs go on.

import { get, post } from "./api.js";
import { byId, el, spoken } from "./dom.js";
import { filledAnew, whenFree } from "./hand.js";

const LOOK_MS = 900;
const OVER = ["done", "failed", "stopped"];

export class Works {
  // ``ask`` starts a comparison; ``ended`` is called when a run of this study came to an end,
  // ``back`` when the server answers again after it did not.
  constructor(ask, ended, jump, back) {
    Object.assign(this, { ask, ended, jump, back });
    this.away = false;
    this.runs = [];
    this.states = new Map();
    this.problems = [];
    this.guess = null;
    this.text = "";
  }

  async look() {
    clearTimeout(this.timer);
    try {
      this.runs = (await get("/api/runs")).runs;
      this.text = "";
      if (this.away) this.back();
      this.away = false;
    } catch (error) {
      this.away = true;
      this.text = error.message;
    }
    for (const run of this.runs) {
      const before = this.states.get(run.number);
      this.states.set(run.number, run.state);
      if (before && before !== run.state && OVER.includes(run.state)) this.ended(run);
    }
    this.draw();
    const idle = !this.away && (document.hidden || this.runs.every((run) => OVER.includes(run.state)));
    this.timer = setTimeout(() => this.look(), idle ? 4 * LOOK_MS : LOOK_MS);
  }

  tell(problems, guess) {
    this.problems = problems;
    this.guess = guess;
    this.draw();
  }

  say(text) {
    this.text = text;
    this.draw();
  }

  draw() {
    whenFree("works", () => this.drawNow());
  }

  drawNow() {
    const active = this.runs.filter((run) => !OVER.includes(run.state)).reverse();
    const last = this.runs.find((run) => OVER.includes(run.state));
    const key = JSON.stringify([active, last, this.problems, this.guess, this.text]);
    if (key === this.drawn) return;
    this.drawn = key;
    filledAnew(byId("works"),
      ...active.map((run) => this.one(run)),
      !active.length && last ? this.over(last) : "",
      el("div", { class: "row ask" }, this.state(), this.button()),
    );
  }

  state() {
    if (this.text) return el("p", { class: "problem", role: "alert" }, this.text);
    if (this.problems.length) {
      const first = this.problems[0];
      return el("p", { class: "problem" },
        `${this.problems.length === 1 ? "One value needs" : `${this.problems.length} values need`} mending: `,
        el("button", { type: "button", class: "link", "data-keep": "mend", onclick: () => this.jump(first) },
          `${first.where}: ${first.problem}`));
    }
    if (!this.guess) return el("p", { class: "soft" }, "…");
    if (this.guess.too_large.length) {
      return el("p", { class: "problem" },
        `Too large to compute: ${this.guess.too_large.join(", ")}. Take a coarser setting, or thicker parts.`);
    }
    return el("p", { class: "soft" }, `Takes about ${spoken(this.guess.seconds)} on one core, less where the machine has several.`);
  }

  button() {
    const blocked = this.problems.length > 0 || !this.guess || this.guess.too_large.length > 0;
    return el("button", {
      type: "button", class: "go", id: "compute", "data-keep": "go", "aria-disabled": blocked,
      onclick: () => !blocked && this.ask("compare"),
    }, "Compute");
  }

  one(run) {
    const done = run.layouts.filter((one) => one.finished).length;
    const parts = run.layouts.map((one) => el("li", { class: one.finished ? "done" : "" },
      el("strong", {}, one.name), ` ${one.finished ? "✓ " : ""}${one.what}`));
    const left = run.left_s === null ? "" : `, about ${spoken(run.left_s)} left`;
    const words = run.state === "waiting" ? "waits for its turn"
      : run.state === "stopping" ? "stopping…" : `${spoken(run.gone_s)} gone${left}`;
    return el("div", { class: "run", "data-run": run.number, "data-state": run.state },
      el("div", { class: "row" },
        el("p", {}, el("strong", {}, run.words), ` · ${run.study} · `, el("span", { class: "clock" }, words)),
        el("button", {
          type: "button", "data-keep": `stop${run.number}`,
          onclick: () => post(`/api/runs/${run.number}/stop`).then(() => this.look(), (e) => this.say(e.message)),
        }, run.state === "waiting" ? "Take out" : "Stop")),
      run.layouts.length
        ? el("progress", { max: run.layouts.length, value: done, "aria-label": `${run.words}: layouts done` }) : null,
      parts.length ? el("ul", { class: "steps" }, ...parts) : null);
  }

  over(run) {
    const words = { done: "finished", failed: "failed", stopped: "stopped" }[run.state];
    return el("p", { class: run.state === "failed" ? "problem" : "soft", "data-run": run.number, "data-state": run.state },
      `Last run: ${run.words} · ${run.study} · ${words}${run.message ? `: ${run.message}` : ""}`);
  }
}

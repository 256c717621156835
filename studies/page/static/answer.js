// What was computed: sentences, bars, tables, stress in 3D, pictures, papers.

import { get, post } from "./api.js";
import { byId, el } from "./dom.js";
import { filledAnew, whenFree } from "./hand.js";
import { PressRoom } from "./press.js";

const COLUMNS = ["layout", "first_yield", "ratio", "change", "where", "shows", "stiffness", "mass", "governs"];

export class AnswerRoom {
  constructor(study, order) {
    Object.assign(this, { study, order });
    this.viewer = null;
    this.shown = null;
    this.mark = "";
    this.told = "";
    this.chosen = "";
    this.curve = false;
    this.stage = el("div", { id: "views" });
    this.press = new PressRoom();
    this.made = el("section", { id: "files", "aria-label": "Pictures and papers" });
    this.listed = "";
  }

  tell(answer) {
    this.shown = answer;
    this.draw();
  }

  draw() {
    whenFree("answer", () => this.drawNow());
  }

  drawNow() {
    const room = byId("answer");
    if (room.hidden) return;
    const answer = this.shown;
    const views = el("section", { "aria-label": "Stress in 3D" }, el("h2", {}, "Where the steel is stressed"),
      this.stage, el("p", { id: "views-note", class: "soft", role: "status" }, this.told));
    filledAnew(room, el("h1", {}, "The answer"),
      ...(answer ? [this.short(answer), views, ...this.loads(answer)] : [this.nothing()]),
      this.press.place, this.orders(), this.made);
    this.files();
    this.curves();
    if (answer) this.views(answer);
  }

  nothing() {
    return el("p", { class: "note" },
      "Nothing is computed yet for the values as they stand. Press Compute below; figures come here.");
  }

  short(answer) {
    const notes = [];
    if (answer.missing.length) notes.push(`Not computed for these values yet: ${answer.missing.join(", ")}.`);
    notes.push(answer.made || `Mesh setting: ${answer.setting}.`);
    return el("section", { "aria-label": "In short" },
      el("ul", { class: "short" }, ...answer.verdicts.map((one) => el("li", {}, one))),
      el("p", { class: "soft" }, notes.join(" ")),
      answer.remarks.length ? el("details", { "data-keep": "remarks" }, el("summary", { "data-keep": "to remarks" }, "Worth knowing"),
        el("ul", {}, ...answer.remarks.map((one) => el("li", {}, one)))) : null,
      el("div", { class: "caution-box", role: "note", "aria-label": "Cautions for loads" },
        el("ul", {}, ...answer.cautions.map((one) => el("li", {}, one)))));
  }

  loads(answer) {
    return answer.loads.map((load) => el("section", { class: "load" }, el("h2", {}, load.name),
      el("p", { class: "soft" }, `${load.sentence[0].toUpperCase()}${load.sentence.slice(1)}`),
      bars(load), table(answer, load)));
  }

  orders() {
    const names = (this.study().data.layouts || []).map((one) => String(one.name ?? ""));
    const chosen = el("select", {
      id: "paper-layout", "data-keep": "paper-layout", onchange: () => { this.chosen = chosen.value; },
    }, ...names.map((name) => el("option", { selected: name === this.chosen }, name)));
    const curve = el("input", {
      type: "checkbox", id: "curve", "data-keep": "curve-too", checked: this.curve,
      onchange: () => { this.curve = curve.checked; },
    });
    const button = (kind, words, more = () => ({})) => el("button", {
      type: "button", "data-order": kind, "data-keep": `order ${kind}`, onclick: () => this.order(kind, more()),
    }, words);
    const layout = () => ({ layout: chosen.value });
    return el("section", { class: "orders", "aria-label": "Make papers" }, el("h2", {}, "More to make from this"),
      el("p", { class: "row" }, el("label", { for: "paper-layout" }, "Layout "), chosen,
        button("papers", "Make shop papers", layout), button("figures", "Draw product pictures", layout)),
      el("p", { class: "row" }, button("press", "Predict the press test", () => ({ ...layout(), curve: curve.checked })),
        el("label", { class: "onoff" }, curve, " with the curve past yielding (takes minutes)")),
      el("p", { class: "row" }, button("shelf", "What the shelf yields"), button("sweep", "Compute the sizes to vary")));
  }

  async files() {
    const { name } = this.study();
    let files;
    try {
      files = (await get("/api/files", { name })).files;
    } catch (error) {
      this.listed = "";
      this.made.replaceChildren(el("p", { class: "problem" }, error.message));
      return;
    }
    const listed = JSON.stringify([name, files]);
    if (name !== this.study().name || listed === this.listed) return;
    this.listed = listed;
    const groups = grouped(files);
    whenFree("files", () => filledAnew(this.made, ...(files.length ? [el("h2", {}, "Pictures and papers"), this.first(files),
      ...[...groups].map(([group, of]) => this.group(group, of))] : [])));
  }

  async curves() {
    const { name, data, problems } = this.study();
    if (problems.length) {
      this.press.tell(null);
      return;
    }
    try {
      const { press } = await post("/api/press", { name, data });
      if (name === this.study().name) this.press.tell(press);
    } catch {
      // What is wrong with the values is told beside them.
      this.press.tell(null);
    }
  }

  // What most people want first, as large links.
  first(files) {
    const wanted = [["report.html", "Open the report"], ["comparison.csv", "Table for a spreadsheet"],
      ["papers.pdf", "Shop papers to print"], ["press-test.pdf", "Press sheet to print"], ["sweep.html", "Sizes varied"]];
    const found = wanted.flatMap(([name, words]) => files.filter((one) => one.name === name)
      .map((one) => el("a", { class: "button", "data-keep": `first ${one.path}`, href: link(one), target: "_blank", rel: "noopener" },
        one.group === "comparison" || one.group === "sweep" ? words : `${words}: ${one.group.split(" / ").pop()}`)));
    return el("p", { class: "row" }, ...found);
  }

  group(name, files) {
    const stale = files.some((one) => one.stale);
    const pictures = files.filter((one) => one.picture);
    const others = files.filter((one) => !one.picture);
    return el("details", { class: "group", "data-keep": name, open: name === "comparison" || /^(press|figures)/.test(name) },
      el("summary", { "data-keep": `to ${name}` }, name),
      stale ? el("p", { class: "note" }, "Some of these were made before the study file was last changed.") : null,
      el("ul", { class: "links" }, ...others.map((one) => el("li", {},
        el("a", { href: link(one), target: "_blank", rel: "noopener", "data-keep": one.path }, one.name),
        one.stale ? el("span", { class: "soft" }, " (older)") : null))),
      el("div", { class: "pictures" }, ...pictures.map((one) => el("figure", {},
        el("a", { href: link(one), target: "_blank", rel: "noopener" },
          el("img", { src: link(one), loading: "lazy", alt: `Picture ${one.name}` })),
        el("figcaption", {}, `${one.name}${one.stale ? " (older)" : ""}`)))));
  }

  note(text) {
    this.told = text;
    const place = byId("views-note");
    if (place) place.textContent = text;
  }

  async views(answer) {
    if (this.mark === answer.mark) return;
    this.mark = answer.mark;
    this.note("Getting the stress pictures…");
    try {
      const { name, data } = this.study();
      const pack = await post("/api/views", { name, data });
      if (this.mark !== answer.mark) return;
      if (!pack) {
        this.note("There are no fields to draw stress from; compute to get them.");
        this.viewer?.dispose();
        this.viewer = null;
        return;
      }
      if (this.viewer) await this.viewer.replace(pack);
      else this.viewer = await window.GussetryViewer.show(this.stage, pack);
      this.note("");
    } catch (error) {
      this.mark = "";
      this.note(`The stress pictures cannot be shown: ${error.message}`);
    }
  }
}

const link = (one) => `/results/${one.path.split("/").map(encodeURIComponent).join("/")}`;

function grouped(files) {
  const groups = new Map();
  for (const one of files) groups.set(one.group, [...(groups.get(one.group) || []), one]);
  return groups;
}

function bars(load) {
  const list = el("ul", { class: "bars" });
  for (const line of load.lines) {
    const bar = el("span", { class: line.meets ? "bar" : "bar short-of" });
    const demand = el("span", { class: "demand" });
    const band = el("span", { class: "band" });
    const [low, high] = line.band;
    band.style.left = `${100 * low}%`;
    band.style.width = `${100 * (high - low)}%`;
    bar.style.width = `${100 * line.bar}%`;
    demand.style.left = `${100 * line.demand}%`;
    list.append(el("li", {}, el("span", { class: "bar-name" }, line.layout, line.baseline ? el("span", { class: "tag" }, "baseline") : null),
      el("span", { class: "track", "aria-hidden": true }, bar, band, demand),
      el("span", { class: "bar-text" }, `${line.first_yield} · ${line.ratio} the demand`)));
  }
  return el("div", {}, list, el("p", { class: "soft" },
    `Bars: load at which each first yields; the bracket at a bar's end is its error band. The tall line: the ${load.demanded} demanded.`));
}

function table(answer, load) {
  const head = COLUMNS.map((key) => el("th", { scope: "col" }, answer.headings[key]));
  const rows = load.lines.map((line) => el("tr", {}, ...COLUMNS.map((key, index) =>
    index ? el("td", { class: key === "ratio" ? (line.meets ? "meets" : "short-of") : "" },
      key === "ratio" ? `${line.ratio} ${line.meets ? "✓" : "below"}` : String(line[key]))
      : el("th", { scope: "row" }, line.layout + (line.baseline ? " (baseline)" : "")))));
  return el("div", { class: "wide", tabindex: 0, role: "region", "aria-label": `${load.name} in numbers`, "data-keep": `table ${load.name}` },
    el("table", {}, el("caption", {}, `${load.name} in numbers`), el("thead", {}, el("tr", {}, ...head)),
      el("tbody", {}, ...rows)));
}

// In the press: the curves that were computed, to be read by pointing, touching or keys.

import { Curve } from "./curve.js";
import { el } from "./dom.js";
import { filledAnew, whenFree } from "./hand.js";

const HEADINGS = ["No.", "What happens", "Load", "May be", "Gauge", "Travel", "Where"];

export class PressRoom {
  constructor() {
    this.place = el("section", { id: "press", "aria-label": "In the press" });
    this.said = "";
    this.name = "";
  }

  // Show ``press``, null for none; the same again is left as it stands.
  tell(press) {
    const said = JSON.stringify(press);
    if (said === this.said) return;
    this.said = said;
    this.press = press;
    this.draw();
  }

  draw() {
    whenFree("press", () => filledAnew(this.place, ...(this.press ? this.parts() : [])));
  }

  parts() {
    const { press } = this;
    const chosen = Math.max(press.curves.findIndex((one) => one.layout === this.name), 0);
    const shown = press.curves[chosen];
    const curve = new Curve(press, chosen);
    const absent = press.absent.length ? `No prediction yet for: ${press.absent.join(", ")}.` : "";
    return [
      el("h2", {}, "In the press: force against ram travel"),
      el("div", { class: "caution-box", role: "note", "aria-label": "Cautions at the press" },
        el("ul", {}, ...press.cautions.map((one) => el("li", {}, one)))),
      press.curves.length > 1 ? this.choice(chosen) : el("p", { class: "label" }, shown.layout),
      curve.box, curve.readout,
      press.gauge ? el("p", { class: "problem" }, press.gauge.limit_words) : null,
      el("p", { class: "soft" }, "Point at the curve, touch it, or use the arrow keys on it. Computed, an estimate. Shaded, and the "
        + "upright bars at the numbers: from a mesh too coarse and steel at its weakest to steel at its usual strength."
        + (press.curves.length > 1 ? " Thin and grey: the other layouts." : "")),
      ...[...shown.notes, absent].filter(Boolean).map((one) => el("p", { class: "soft" }, one)),
      marksTable(shown),
    ];
  }

  choice(chosen) {
    return el("fieldset", { class: "choice" }, el("legend", {}, "Layout to read"),
      ...this.press.curves.map((one, index) => el("label", { class: "onoff" }, el("input", {
        type: "radio", name: "curve-of", checked: index === chosen, "data-keep": `curve of ${one.layout}`,
        onchange: () => {
          this.name = one.layout;
          this.draw();
        },
      }), ` ${one.layout}`)));
  }
}

function marksTable(shown) {
  return el("div", { class: "wide", tabindex: 0, role: "region", "aria-label": "Loads along the curve", "data-keep": "marks" },
    el("table", {}, el("caption", {}, `Loads along the curve, ${shown.layout}`),
      el("thead", {}, el("tr", {}, ...HEADINGS.map((one) => el("th", { scope: "col" }, one)))),
      el("tbody", {}, ...shown.marks.map((one, index) => el("tr", {}, el("td", {}, String(index + 1)),
        el("th", { scope: "row" }, `${one.name[0].toUpperCase()}${one.name.slice(1)}`),
        ...one.words.map((word) => el("td", {}, word)))))));
}

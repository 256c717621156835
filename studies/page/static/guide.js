// The guide: what to do first, and what the words mean.

import { byId, el } from "./dom.js";

export function drawGuide(said) {
  byId("guide").replaceChildren(el("h1", {}, "Guide"),
    el("ol", { class: "guide" }, ...said.guide.map((one) => el("li", {}, el("h2", {}, one.title), el("p", {}, one.text)))),
    el("h2", {}, "What the words mean"),
    el("dl", {}, ...Object.entries(said.terms).flatMap(([word, text]) => [el("dt", {}, word), el("dd", {}, text)])));
}

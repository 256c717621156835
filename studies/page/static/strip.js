// Layouts side by side: each from above, what it weighs, and the loads at which it first yields.

import { byId, el, plan } from "./dom.js";
import { filledAnew, whenFree } from "./hand.js";

// ``state`` is the page's own; ``choose`` is called with the number of a layout that is pressed.
export function drawStrip(state, caution, choose) {
  whenFree("strip", () => {
    const layouts = Array.isArray(state.data.layouts) ? state.data.layouts : [];
    filledAnew(byId("strip"), ...layouts.map((one, index) => el("li", {}, card(state, one, index, choose))));
    byId("strip-note").textContent = state.answer
      ? `Figures: load at which each first yields. ${caution} ${state.answer.made}`
      : "No figures yet for the values as they stand.";
  });
}

function card(state, one, index, choose) {
  const drawn = state.plans[index];
  return el("button", {
    type: "button", class: one.baseline ? "card base" : "card", "aria-pressed": index === state.layout,
    "data-keep": `card${index}`, onclick: () => choose(index),
  }, drawn ? plan(drawn) : null, el("strong", {}, String(one.name ?? "")),
  one.baseline ? el("span", { class: "tag" }, "baseline") : null,
  state.masses[index] ? el("span", { class: "figure soft" }, state.masses[index]) : null,
  ...figures(state.answer, one.name));
}

// A layout's first-yield loads, and how it stands against the demand at worst.
function figures(answer, name) {
  const found = (answer?.loads || [])
    .map((load) => [load.name, load.lines.find((line) => line.layout === name)]).filter(([, line]) => line);
  if (!found.length) return [];
  const [, worst] = found.reduce((one, other) => (other[1].times < one[1].times ? other : one));
  return [
    ...found.map(([load, line]) => el("span", { class: line.meets ? "figure" : "figure short-of" }, `${load} ${line.first_yield}`)),
    el("span", { class: worst.meets ? "figure meets" : "figure short-of" }, `${worst.ratio} the demand at worst`),
  ];
}

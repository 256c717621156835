// What stands above the pictures: load, movement, views, and the legend of colours.

import { VIEWS } from "./camera.js";

export function element(tag, attributes = {}, ...inside) {
  const made = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) {
    if (name.startsWith("on")) made.addEventListener(name.slice(2), value);
    else if (value !== false) made.setAttribute(name, value === true ? "" : value);
  }
  made.append(...inside);
  return made;
}

export const percent = (share) => `${Number((100 * share).toPrecision(3))} %`;

export function toolbar(viewer) {
  const { pack, eye } = viewer;
  const bar = element("div", { class: "g3d-bar" });
  if (pack.loads.length) {
    const choice = element("select", { onchange: () => viewer.setLoad(Number(choice.value)) });
    pack.loads.forEach((load, index) => choice.append(element("option", { value: index }, load.name)));
    choice.append(element("option", { value: -1 }, "no load: the parts in colours"));
    viewer.choice = choice;
    viewer.slider = element("input", {
      type: "range", min: 0, max: 2, step: 0.05, value: 1,
      oninput: () => viewer.setMovement(Number(viewer.slider.value)),
    });
    viewer.grown = element("output", {});
    bar.append(
      element("label", { class: "g3d-load" }, "Load ", choice),
      element("label", { class: "g3d-move" }, "Movement ", viewer.slider, " ", viewer.grown),
    );
  }
  const buttons = element("div", { class: "g3d-buttons", role: "group", "aria-label": "View" });
  for (const name of Object.keys(VIEWS)) {
    buttons.append(element("button", { type: "button", onclick: () => eye.look(name) }, name));
  }
  for (const [text, label, times] of [["+", "Closer", 1.25], ["−", "Further off", 0.8]]) {
    buttons.append(
      element("button", { type: "button", "aria-label": label, onclick: () => eye.closer(times) }, text),
    );
  }
  bar.append(buttons);
  if (pack.layouts.some((layout) => layout.parts.some((part) => part.glass))) {
    viewer.glassBox = element("input", {
      type: "checkbox", onchange: () => viewer.setGlass(viewer.glassBox.checked),
    });
    bar.append(element("label", { class: "g3d-glass" }, viewer.glassBox, " see through the top plate"));
  }
  return bar;
}

// The colours from none to the scale's end, with shares of yield below them.
export function legend(pack, load) {
  const stops = [];
  for (let i = 0; i < 256; i += 15) stops.push(`#${pack.colours.slice(6 * i, 6 * i + 6)}`);
  const ticks = element("div", { class: "g3d-ticks" });
  const parts = divisions(load.top);
  for (let i = 0; i <= parts; i++) {
    const mark = element("span", {}, percent((load.top * i) / parts));
    mark.style.left = `${(100 * i) / parts}%`;
    ticks.append(mark);
  }
  const band = element("div", { class: "g3d-band" });
  band.style.background = `linear-gradient(to right, ${stops.join(", ")})`;
  const over = load.peak > load.top ? `; small spots reach ${percent(load.peak)}` : "";
  return element(
    "div", { class: "g3d-legend" }, band, ticks,
    element("p", {},
      `Stress as a share of the steel’s yield, under ${load.demanded}${over}. `,
      "The pink ring marks where yielding starts (faint: behind steel)."),
  );
}

const divisions = (top) => {
  const first = String(top.toExponential()).replace(/e.*/, "");
  return { 1: 5, 1.2: 4, 1.5: 5, 2: 4, 2.5: 5, 3: 3, 4: 4, 5: 5, 6: 4, 8: 4 }[first] || 4;
};

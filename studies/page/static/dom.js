// Small helpers for building the page.

const SVG = "http://www.w3.org/2000/svg";

export function el(tag, attributes = {}, ...inside) {
  return filled(document.createElement(tag), attributes, inside);
}

export function svg(tag, attributes = {}, ...inside) {
  return filled(document.createElementNS(SVG, tag), attributes, inside);
}

function filled(made, attributes, inside) {
  for (const [name, value] of Object.entries(attributes)) {
    if (name.startsWith("on")) made.addEventListener(name.slice(2), value);
    else if (name === "value") made.value = value;
    else if (name.startsWith("aria-") && value !== undefined) made.setAttribute(name, String(value));
    else if (value !== false && value !== undefined) made.setAttribute(name, value === true ? "" : value);
  }
  made.append(...inside.filter((one) => one !== null && one !== undefined));
  return made;
}

export const byId = (id) => document.getElementById(id);

export function plan(drawn, label = "") {
  const named = label ? { role: "img", "aria-label": label } : { "aria-hidden": true };
  return svg(
    "svg", { viewBox: drawn.view_box, class: "plan", ...named },
    svg("path", { d: drawn.plate, class: "plan-plate" }),
    svg("path", { d: drawn.ribs, class: "plan-ribs" }),
    svg("path", { d: drawn.tube, class: "plan-tube" }),
  );
}

export function at(data, path) {
  return path.reduce((value, step) => (value === undefined || value === null ? undefined : value[step]), data);
}

// Set a value at a path, or take it out when there is none.
export function put(data, path, value) {
  const last = path[path.length - 1];
  let table = data;
  path.slice(0, -1).forEach((step, index) => {
    if (typeof table[step] !== "object" || table[step] === null) {
      if (value === undefined) return;
      table[step] = typeof path[index + 1] === "number" ? [] : {};
    }
    table = table[step];
  });
  if (table === undefined || table === null) return;
  if (value === undefined) delete table[last];
  else table[last] = value;
}

export const copied = (value) => JSON.parse(JSON.stringify(value));
export const same = (one, other) => ordered(one) === ordered(other);

function ordered(value) {
  return JSON.stringify(value, (_, inside) =>
    inside && typeof inside === "object" && !Array.isArray(inside)
      ? Object.fromEntries(Object.entries(inside).sort(([a], [b]) => (a < b ? -1 : 1)))
      : inside);
}

export function spoken(seconds) {
  if (seconds < 90) return `${Math.max(1, Math.round(seconds))} s`;
  if (seconds < 5400) return `${Math.round(seconds / 60)} min`;
  return `${(seconds / 3600).toFixed(1)} h`;
}

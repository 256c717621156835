// A slider beside a length, writing it as a shop does: whole millimetres, or marks of an inch.

import { el } from "./dom.js";

const LENGTH = /^\s*(?:(\d+)[ -](\d+)\/(\d+)|(\d+)\/(\d+)|(\d*\.?\d+))\s*(mm|cm|in|inch|")\s*$/i;
const MARKS = 16;

// {number, unit} of a length as text, or null.
export function lengthOf(text) {
  const found = LENGTH.exec(text || "");
  if (!found) return null;
  const [, whole, over, under, over1, under1, plain, unit] = found;
  const number = plain ? Number(plain)
    : whole ? Number(whole) + Number(over) / Number(under) : Number(over1) / Number(under1);
  return Number.isFinite(number) ? { number, unit: unit === '"' ? "in" : unit.toLowerCase() } : null;
}

export function lengthText(number, unit) {
  if (unit === "mm") return `${Number(number.toFixed(1))} mm`;
  if (unit === "cm") return `${Number(number.toFixed(2))} cm`;
  const marks = Math.round(number * MARKS);
  const whole = Math.floor(marks / MARKS);
  let [over, under] = [marks % MARKS, MARKS];
  while (over && over % 2 === 0) [over, under] = [over / 2, under / 2];
  if (!over) return `${whole} in`;
  return whole ? `${whole}-${over}/${under} in` : `${over}/${under} in`;
}

// A slider that follows ``box``; null where its text is no length.
export function slider(box, label) {
  const now = lengthOf(box.value);
  if (!now || !now.number) return null;
  const step = now.unit === "mm" ? (now.number > 20 ? 1 : 0.5) : now.unit === "cm" ? 0.1 : 1 / MARKS;
  const made = el("input", {
    type: "range", class: "drag", "aria-label": `${label}, by dragging`,
    min: Math.max(step, Math.floor((0.4 * now.number) / step) * step),
    max: Math.ceil((1.8 * now.number) / step) * step, step, value: now.number,
    oninput: () => {
      const unit = (lengthOf(box.value) || now).unit;
      if (unit !== now.unit) return;
      box.value = lengthText(Number(made.value), unit);
      made.setAttribute("aria-valuetext", box.value);
      box.dispatchEvent(new Event("input", { bubbles: true }));
    },
  });
  made.setAttribute("aria-valuetext", box.value);
  box.addEventListener("input", () => {
    const typed = lengthOf(box.value);
    if (typed && typed.unit === now.unit && document.activeElement !== made) made.value = typed.number;
  });
  return made;
}

// Drawing anew what may be in hand: neither a press nor the focus is lost by it.

const PRESSES = ["Enter", " "];
const SETTLE_MS = 60;
let held = false, settling = 0;
const waiting = new Map();

function hold() {
  clearTimeout(settling);
  held = true;
}

function release() {
  clearTimeout(settling);
  settling = setTimeout(() => {
    held = false;
    const draws = [...waiting.values()];
    waiting.clear();
    for (const draw of draws) draw();
  }, SETTLE_MS);
}

window.addEventListener("pointerdown", hold, true);
window.addEventListener("keydown", (event) => PRESSES.includes(event.key) && hold(), true);
for (const over of ["pointerup", "pointercancel", "keyup"]) window.addEventListener(over, release, true);
window.addEventListener("blur", release);

// Draw ``what`` now, or once no button is pressed: one drawn anew between press and release is not
// pressed at all. Of several draws of the same thing the last is done.
export function whenFree(what, draw) {
  if (held) waiting.set(what, draw);
  else draw();
}

// Fill ``place`` anew. What had the focus has it again, the thing itself or what has its
// ``data-keep``; details that were open stay so by theirs.
export function filledAnew(place, ...inside) {
  const focused = place.contains(document.activeElement) ? document.activeElement : null;
  const details = () => place.querySelectorAll("details[data-keep]");
  const open = new Map([...details()].map((one) => [one.dataset.keep, one.open]));
  place.replaceChildren(...inside.filter((one) => one !== null));
  for (const one of details()) one.open = open.get(one.dataset.keep) ?? one.open;
  if (!focused) return;
  const again = place.contains(focused) ? focused
    : focused.dataset.keep && place.querySelector(`[data-keep="${CSS.escape(focused.dataset.keep)}"]`);
  if (again) again.focus({ preventScroll: true });
}

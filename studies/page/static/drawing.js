// The block beside the form: the viewer, and dimension lines drawn over it.

import { byId, svg } from "./dom.js";

const GAP = 7;

export class Drawing {
  constructor() {
    this.viewer = null;
    this.lines = [];
    this.turn = Promise.resolve();
  }

  // Draw a pack; a later one waits until the one before stands.
  show(drawn) {
    this.lines = drawn.dimensions;
    this.turn = this.turn.then(() => this.place(drawn.pack)).catch(() => {
      byId("preview-note").textContent = "This browser shows no 3D here; all the rest works without it.";
    });
    return this.turn;
  }

  async place(pack) {
    if (this.viewer) await this.viewer.replace(pack);
    else {
      this.viewer = await window.GussetryViewer.show(byId("preview"), pack);
      const draw = this.viewer.draw.bind(this.viewer);
      this.viewer.draw = () => {
        draw();
        this.mark();
      };
    }
    this.viewer.draw();
  }

  mark() {
    const marks = byId("marks");
    const stage = byId("preview").querySelector(".g3d-stage");
    if (!stage || !stage.clientWidth || this.viewer.bodies.length > 1) {
      marks.replaceChildren();
      return;
    }
    const [outer, inner] = [byId("marks").parentElement.getBoundingClientRect(), stage.getBoundingClientRect()];
    marks.setAttribute("viewBox", `0 0 ${outer.width} ${outer.height}`);
    const { camera } = this.viewer.eye;
    this.viewer.eye.aim(inner.width / inner.height);
    const seen = (point) => {
      const place = camera.position.clone().set(...point).project(camera);
      return [
        inner.left - outer.left + ((place.x + 1) / 2) * inner.width,
        inner.top - outer.top + ((1 - place.y) / 2) * inner.height,
      ];
    };
    const middle = inner.left - outer.left + inner.width / 2;
    const taken = [];
    marks.replaceChildren(...this.lines.flatMap((line) =>
      dimension(seen(line.start_mm), seen(line.end_mm), line.text, middle, taken)));
  }
}

// A line with its ticks and its size; nothing where it would lie on another's size.
function dimension([x0, y0], [x1, y1], text, middle, taken) {
  const length = Math.hypot(x1 - x0, y1 - y0);
  if (length < 14) return [];
  const [dx, dy] = [(x1 - x0) / length, (y1 - y0) / length];
  const tick = (x, y) => svg("path", { d: `M${x - 5 * dy} ${y + 5 * dx}L${x + 5 * dy} ${y - 5 * dx}`, class: "dim" });
  let turn = (Math.atan2(dy, dx) * 180) / Math.PI;
  if (turn > 90 || turn <= -90) turn += 180;
  const [mx, my] = [(x0 + x1) / 2, (y0 + y1) / 2];
  const upright = Math.abs(dx) < 0.25;
  const right = upright && mx > middle;
  const at = upright ? [mx + (right ? 1 : -1) * (GAP + 4 * text.length), my] : [mx, my - GAP];
  if (taken.some(([x, y]) => Math.abs(x - at[0]) < 7 * text.length && Math.abs(y - at[1]) < 17)) return [];
  taken.push(at);
  const label = svg("text", upright
    ? { x: mx + (right ? GAP : -GAP), y: my + 5, class: "dim-text", "text-anchor": right ? "start" : "end" }
    : { x: mx, y: my - GAP, class: "dim-text", "text-anchor": "middle", transform: `rotate(${turn} ${mx} ${my})` });
  label.textContent = text;
  return [svg("path", { d: `M${x0} ${y0}L${x1} ${y1}`, class: "dim" }), tick(x0, y0), tick(x1, y1), label];
}

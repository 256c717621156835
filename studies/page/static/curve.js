// The press curve: force against ram travel, its band, its marks, and a reading wherever one points.

import { el, svg } from "./dom.js";

const EDGE = { top: 62, bottom: 48, left: 60, right: 18, gauge: 66 };
const LEAST_HIGH = 300;
const NUMBERS = 40;
const APART = 25;
const STEPS = { ArrowRight: 1, ArrowUp: 1, ArrowLeft: -1, ArrowDown: -1, PageUp: 10, PageDown: -10, Home: -1e6, End: 1e6 };

export class Curve {
  // ``press`` is what the server says of all curves; ``chosen`` the number of the one to read.
  constructor(press, chosen) {
    Object.assign(this, { press, points: press.curves[chosen].points, chosen });
    const shown = press.curves[chosen];
    this.index = nearest(this.points, shown.marks[0]?.travel ?? 0);
    this.drawing = svg("svg", { "aria-hidden": true });
    this.box = el("div", {
      class: "curve", tabindex: 0, role: "slider", "data-keep": "curve", "aria-orientation": "horizontal",
      "aria-label": `Ram travel, ${shown.layout}`, "aria-valuemin": 0, "aria-valuemax": round(this.points.at(-1).travel),
      onkeydown: (event) => this.keyed(event),
    }, this.drawing);
    this.readout = el("p", { class: "readout" });
    for (const kind of ["pointermove", "pointerdown"]) this.drawing.addEventListener(kind, (event) => this.pointed(event));
    new ResizeObserver(() => this.draw()).observe(this.box);
    this.tell();
  }

  keyed(event) {
    const step = STEPS[event.key];
    if (!step) return;
    event.preventDefault();
    this.go(this.index + step);
  }

  pointed(event) {
    const at = event.clientX - this.drawing.getBoundingClientRect().left;
    this.go(nearest(this.points, (at - EDGE.left) / this.across));
  }

  go(index) {
    this.index = Math.min(Math.max(index, 0), this.points.length - 1);
    this.tell();
    if (this.across) this.cursor();
  }

  tell() {
    const point = this.points[this.index];
    this.box.setAttribute("aria-valuenow", round(point.travel));
    this.box.setAttribute("aria-valuetext", point.said.join(", "));
    this.readout.replaceChildren(...point.said.map((one, number) => el(number === 1 ? "strong" : "span", {}, one)));
  }

  draw() {
    const wide = this.box.clientWidth;
    if (!wide) return;
    const { press } = this;
    const tall = Math.max(LEAST_HIGH, Math.min(0.5 * wide, 460));
    const right = press.gauge ? EDGE.gauge : EDGE.right;
    const marks = press.curves[this.chosen].marks;
    const mostTravel = 1.03 * Math.max(...press.curves.map((one) => one.points.at(-1).travel));
    const mostForce = 1.06 * Math.max(...press.curves.flatMap((one) => one.points.map((point) => point.force)),
      ...this.points.map((one) => one.high), ...marks.map((one) => one.high));
    this.across = (wide - EDGE.left - right) / mostTravel;
    this.up = (tall - EDGE.top - EDGE.bottom) / mostForce;
    this.foot = tall - EDGE.bottom;
    this.end = wide - right;
    this.drawing.setAttribute("viewBox", `0 0 ${wide} ${tall}`);
    this.drawing.setAttribute("height", tall);
    this.hand = svg("g", { class: "hand" });
    this.drawing.replaceChildren(
      ...this.scales(mostTravel, mostForce),
      svg("path", { class: "curve-band", d: this.path([...this.points.map((one) => [one.travel, one.high]),
        ...this.points.map((one) => [one.travel, one.low]).reverse()]) }),
      ...this.limit(mostForce),
      ...press.curves.flatMap((one, number) => (number === this.chosen ? [] : this.line(one.points, "curve-other"))),
      ...this.line(this.points, "curve-line"), ...this.marks(marks), this.hand,
    );
    this.cursor();
  }

  x(travel) {
    return EDGE.left + this.across * travel;
  }

  y(force) {
    return this.foot - this.up * force;
  }

  path(places) {
    return `M${places.map(([travel, force]) => `${this.x(travel).toFixed(1)} ${this.y(force).toFixed(1)}`).join("L")}`;
  }

  // Dashed past what the computation holds for.
  line(points, kind) {
    const places = points.map((one) => [one.travel, one.force]);
    const sure = points.filter((one) => one.sure).length;
    const parts = [[places.slice(0, sure), kind], [places.slice(Math.max(sure - 1, 0)), `${kind} past`]];
    return parts.filter(([part]) => part.length > 1).map(([part, name]) => svg("path", { class: name, d: this.path(part) }));
  }

  scales(mostTravel, mostForce) {
    const { travel_unit, force_unit, gauge } = this.press;
    const made = [
      text(EDGE.left - 8, 16, `force, ${force_unit}`, "start", { x: 4 }),
      text(this.end, this.foot + 40, `ram travel from first touch, ${travel_unit}`, "end"),
    ];
    for (const value of ticks(mostForce, (this.foot - EDGE.top) / 50)) {
      made.push(svg("path", { class: "grid", d: `M${EDGE.left} ${this.y(value)}H${this.end}` }),
        text(EDGE.left - 8, this.y(value) + 5, plain(value), "end"));
    }
    for (const value of ticks(mostTravel, (this.end - EDGE.left) / 70)) {
      made.push(svg("path", { class: "grid", d: `M${this.x(value)} ${this.foot}v6` }),
        text(this.x(value), this.foot + 22, plain(value), "middle"));
    }
    if (gauge) {
      made.push(text(this.end + EDGE.gauge - 4, 16, `gauge, ${gauge.unit}`, "end"));
      const most = gauge.zero + mostForce * gauge.per_force;
      for (const value of ticks(most, (this.foot - EDGE.top) / 50)) {
        const force = (value - gauge.zero) / gauge.per_force;
        if (force < 0) continue;
        made.push(svg("path", { class: "grid", d: `M${this.end} ${this.y(force)}h6` }),
          text(this.end + 10, this.y(force) + 5, plain(value), "start"));
      }
    }
    made.push(svg("path", { class: "axis", d: `M${EDGE.left} ${EDGE.top}V${this.foot}H${this.end}${gauge ? `V${EDGE.top}` : ""}` }));
    return made;
  }

  limit(mostForce) {
    const { gauge } = this.press;
    if (!gauge || gauge.limit >= mostForce) return [];
    const at = this.y(gauge.limit);
    return [
      svg("rect", { class: "beyond", x: EDGE.left, y: EDGE.top, width: this.end - EDGE.left, height: Math.max(at - EDGE.top, 0) }),
      svg("path", { class: "limit", d: `M${EDGE.left} ${at}H${this.end}` }),
    ];
  }

  // Numbers stand in a row above, as near their marks as they can without touching.
  marks(marks) {
    const places = apart(marks.map((one) => this.x(one.travel)), EDGE.left, this.end);
    return marks.flatMap((one, number) => {
      const [x, y, at] = [this.x(one.travel), this.y(one.force), places[number]];
      const [low, high] = [this.y(one.low), this.y(one.high)];
      return [
        svg("path", { class: "whisker", d: `M${x - 5} ${high}h10M${x} ${high}V${low}M${x - 5} ${low}h10` }),
        svg("path", { class: "leader", d: `M${x} ${high}L${at} ${NUMBERS}` }),
        svg("circle", { class: "mark", cx: x, cy: y, r: 4 }),
        svg("circle", { class: "number", cx: at, cy: NUMBERS, r: 11 }),
        text(at, NUMBERS + 5, String(number + 1), "middle", { class: "number-text" }),
      ];
    });
  }

  cursor() {
    const point = this.points[this.index];
    const [x, y] = [this.x(point.travel), this.y(point.force)];
    const over = this.press.gauge ? `M${x} ${y}H${this.end}` : "";
    this.hand.replaceChildren(svg("path", { class: "sight", d: `M${x} ${this.foot}V${y}H${EDGE.left}${over}` }),
      svg("circle", { class: "sight-dot", cx: x, cy: y, r: 6 }));
  }
}

function nearest(points, travel) {
  let found = 0;
  points.forEach((one, index) => {
    if (Math.abs(one.travel - travel) < Math.abs(points[found].travel - travel)) found = index;
  });
  return found;
}

// Places in rising order, moved as little as it takes to stand ``APART`` between two ends.
function apart(places, from, to) {
  const moved = [...places];
  moved.forEach((one, index) => { moved[index] = Math.max(one, index ? moved[index - 1] + APART : from); });
  for (let index = moved.length - 1, most = to; index >= 0; index -= 1, most = moved[index + 1] - APART) {
    moved[index] = Math.min(moved[index], most);
  }
  return moved;
}

// Round numbers from zero up to ``most``, about ``count`` of them.
function ticks(most, count) {
  const rough = most / Math.max(count, 2);
  const power = 10 ** Math.floor(Math.log10(rough));
  const step = [1, 2, 2.5, 5, 10].map((times) => times * power).find((one) => one >= rough);
  return Array.from({ length: Math.floor(most / step + 1e-9) + 1 }, (_, number) => number * step);
}

const plain = (value) => String(Number(value.toPrecision(6)));
const round = (value) => Number(value.toPrecision(4));

function text(x, y, words, anchor, more = {}) {
  const made = svg("text", { x, y, "text-anchor": anchor, ...more });
  made.textContent = words;
  return made;
}

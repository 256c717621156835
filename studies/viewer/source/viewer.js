// All layouts of a pack turned about together: one canvas, one window in it for each layout.

import {
  Color, DataTexture, LinearFilter, LinearSRGBColorSpace, Raycaster, RGBAFormat, Vector2, WebGLRenderer,
} from "three";
import { Body } from "./body.js";
import { Eye, keyed, pointed } from "./camera.js";
import { element, legend, percent, toolbar } from "./controls.js";
import { unpacked, VERSION } from "./unpack.js";

const MOST_PIXELS = 4096;
const SHARPEST = 2;
const SPOT_SHARE = 0.085;
const PAPER = "#ffffff";

class Viewer {
  constructor(host, renderer) {
    this.host = host;
    this.renderer = renderer;
    this.bodies = [];
    this.load = -1;
    this.movement = 1;
    this.shared = {
      grow: { value: 0 }, top: { value: 1 }, plain: { value: true }, colours: { value: null },
    };
    this.eye = new Eye(() => this.redraw());
    this.watch = new ResizeObserver(() => this.redraw());
  }

  // Show a pack in place of the one before; the eye stays where it is.
  async replace(pack) {
    if (pack.version !== VERSION) throw new Error("this pack is of another version of the viewer");
    this.asked = pack;
    const numbers = await Promise.all(pack.layouts.map((layout) => unpacked(layout, pack)));
    if (this.asked !== pack) return; // another was asked for meanwhile
    this.clear();
    this.pack = pack;
    this.shared.colours.value = colourTexture(pack.colours);
    this.eye.frame(pack.low, pack.high);
    this.build(numbers);
    this.setLoad(pack.loads.length ? Math.max(0, Math.min(this.load, pack.loads.length - 1)) : -1);
  }

  build(numbers) {
    const { pack, host } = this;
    const canvas = this.renderer.domElement;
    canvas.className = "g3d-canvas";
    canvas.setAttribute("aria-hidden", "true");
    this.grid = element("div", {
      class: "g3d-grid", tabindex: 0, role: "group",
      "aria-label": "Layouts in 3D. Arrow keys turn all of them, plus and minus zoom, Home goes back.",
    }, canvas);
    this.grid.dataset.count = pack.layouts.length;
    this.legendPlace = element("div");
    this.bodies = pack.layouts.map((layout, index) => {
      const body = new Body(layout, numbers[index], this.shared);
      body.stage = element("div", { class: "g3d-stage" });
      body.note = element("span", { class: "g3d-note" });
      body.told = element("p", { class: "g3d-told", role: "status", hidden: true });
      pointed(body.stage, this.eye, (x, y) => this.tell(body, x, y));
      this.grid.append(element(
        "figure", { class: "g3d-cell" },
        element("figcaption", {}, element("strong", {}, layout.name), body.note), body.stage, body.told,
      ));
      return body;
    });
    keyed(this.grid, this.eye);
    const bar = toolbar(this);
    const hint = pack.loads.length
      ? "Drag to turn all of them together, click on the steel to read it; pinch, or + and −, to come closer."
      : "Drag to turn, click to read a part’s name; pinch, or + and −, to come closer.";
    const thin = pack.thinned
      ? " To keep this page small, points were left out where the mesh is finest; no figure comes from these pictures."
      : "";
    host.replaceChildren(
      bar, this.legendPlace, element("p", { class: "g3d-hint" }, hint + thin), this.grid,
    );
    host.classList.add("g3d");
    this.watch.observe(this.grid);
  }

  // A load by its number; -1 shows the parts in their colours, unmoved.
  setLoad(index) {
    const load = this.pack.loads[index];
    this.load = index;
    this.shared.plain.value = !load;
    this.shared.top.value = load ? load.top : 1;
    this.legendPlace.replaceChildren(...(load ? [legend(this.pack, load)] : []));
    for (const body of this.bodies) {
      body.setLoad(load ? index : -1);
      body.note.textContent = load ? body.layout.loads[index].note : body.layout.note;
      this.forget(body);
    }
    if (this.choice) this.choice.value = String(index);
    if (this.slider) this.slider.disabled = !load;
    this.setGlass(!load);
    this.setMovement(this.movement);
  }

  // How much movement is drawn, as a multiple of the load's own exaggeration.
  setMovement(times) {
    const load = this.pack.loads[this.load];
    this.movement = times;
    const grow = load ? times * load.exaggeration : 0;
    this.shared.grow.value = grow;
    if (this.slider) {
      this.slider.value = String(times);
      const words = grow ? `${Number(grow.toPrecision(3))} × larger` : "not drawn";
      this.grown.textContent = words;
      this.slider.setAttribute("aria-valuetext", words);
    }
    this.redraw();
  }

  setGlass(on) {
    if (this.glassBox) this.glassBox.checked = on;
    for (const body of this.bodies) body.setGlass(on);
    this.redraw();
  }

  // What stands at a place of the window: {layout, part, share, stress_mpa, moved_mm}, or null.
  read(x, y) {
    const body = this.bodies.find((one) => inside(one.stage.getBoundingClientRect(), x, y));
    const told = body && this.picked(body, x, y);
    return told ? { ...told, layout: body.layout.name, found: undefined } : null;
  }

  picked(body, x, y) {
    const box = body.stage.getBoundingClientRect();
    this.eye.aim(box.width / box.height);
    const ray = new Raycaster();
    const place = new Vector2((2 * (x - box.left)) / box.width - 1, 1 - (2 * (y - box.top)) / box.height);
    ray.setFromCamera(place, this.eye.camera);
    return body.pick(ray.ray.origin.toArray(), ray.ray.direction.toArray());
  }

  tell(body, x, y) {
    const told = this.picked(body, x, y);
    if (!told) {
      this.forget(body);
    } else {
      body.read = told.found;
      body.told.hidden = false;
      body.told.textContent = this.words(told);
    }
    this.redraw();
  }

  words(told) {
    const { stress, length } = this.pack;
    if (told.share === undefined) return told.part;
    const shown = Number((told.stress_mpa * stress.per_mpa).toPrecision(3));
    const moved = Number((told.moved_mm * length.per_mm).toPrecision(2));
    return `${told.part}: ${percent(told.share)} of yield (${shown} ${stress.unit}), moved ${moved} ${length.unit}`;
  }

  forget(body) {
    body.read = null;
    body.told.hidden = true;
  }

  redraw() {
    if (this.waiting || !this.grid) return;
    this.waiting = requestAnimationFrame(() => {
      this.waiting = 0;
      this.draw();
    });
  }

  draw() {
    const { renderer, grid } = this;
    const whole = grid.getBoundingClientRect();
    if (!whole.width || !whole.height) return;
    const sharp = Math.min(
      window.devicePixelRatio || 1, SHARPEST, MOST_PIXELS / whole.width, MOST_PIXELS / whole.height,
    );
    renderer.setPixelRatio(sharp);
    renderer.setSize(whole.width, whole.height);
    renderer.setScissorTest(false);
    renderer.clear();
    renderer.setScissorTest(true);
    for (const body of this.bodies) {
      const box = body.stage.getBoundingClientRect();
      const [left, bottom] = [box.left - whole.left, whole.bottom - box.bottom];
      renderer.setViewport(left, bottom, box.width, box.height);
      renderer.setScissor(left, bottom, box.width, box.height);
      const aspect = box.width / box.height;
      this.eye.aim(aspect);
      body.place(2 * SPOT_SHARE * this.eye.halfHeight(aspect));
      renderer.render(body.scene, this.eye.camera);
    }
  }

  clear() {
    this.watch.disconnect();
    for (const body of this.bodies) body.dispose();
    if (this.shared.colours.value) this.shared.colours.value.dispose();
    this.bodies = [];
    this.choice = this.slider = this.glassBox = null;
  }

  dispose() {
    this.clear();
    cancelAnimationFrame(this.waiting);
    this.renderer.dispose();
    this.host.replaceChildren();
  }
}

// Show a pack in an element; rejects where the browser has no WebGL, and leaves the element alone.
export async function show(host, pack) {
  const renderer = new WebGLRenderer({ antialias: true, alpha: false });
  renderer.outputColorSpace = LinearSRGBColorSpace; // colours are given as they are to be seen
  renderer.setClearColor(new Color().setStyle(PAPER, ""), 1);
  renderer.autoClear = false;
  const viewer = new Viewer(host, renderer);
  await viewer.replace(pack);
  return viewer;
}

function colourTexture(hex) {
  const data = new Uint8Array(4 * 256);
  for (let i = 0; i < 256; i++) {
    for (let c = 0; c < 3; c++) data[4 * i + c] = parseInt(hex.slice(6 * i + 2 * c, 6 * i + 2 * c + 2), 16);
    data[4 * i + 3] = 255;
  }
  const made = new DataTexture(data, 256, 1, RGBAFormat);
  made.minFilter = made.magFilter = LinearFilter;
  made.needsUpdate = true;
  return made;
}

const inside = (box, x, y) => x >= box.left && x < box.right && y >= box.top && y < box.bottom;

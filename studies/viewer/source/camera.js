// One eye for all layouts: where it looks from, how close, and how pointers and keys move it.

import { OrthographicCamera, Vector3 } from "three";

export const VIEWS = {
  Corner: [-51.3, 19], Front: [0, 0], Side: [-90, 0], Top: [-90, 89.9], Below: [-51.3, -35],
};
const STEEPEST = 89.9;
const DEGREES_A_PIXEL = 0.45;
const DEGREES_A_KEY = 7.5;
const [CLOSEST, FURTHEST] = [12, 0.5];

const radians = (degrees) => (degrees * Math.PI) / 180;

export class Eye {
  constructor(changed) {
    this.changed = changed;
    this.camera = new OrthographicCamera();
    this.camera.up.set(0, 0, 1);
    this.look("Corner");
  }

  // Hold every layout between these corners in sight.
  frame(low, high) {
    this.middle = new Vector3(...low).add(new Vector3(...high)).multiplyScalar(0.5);
    this.radius = Math.max(1e-6, new Vector3(...high).sub(new Vector3(...low)).length() / 2);
    this.tall = Math.max(0.72 * this.radius, 0.6 * (high[2] - low[2]));
  }

  look(name) {
    [this.azimuth, this.elevation] = VIEWS[name];
    this.zoom = 1;
    this.shift = [0, 0];
    this.changed();
  }

  turn(azimuth, elevation) {
    this.azimuth += azimuth;
    this.elevation = Math.max(-STEEPEST, Math.min(STEEPEST, this.elevation + elevation));
    this.changed();
  }

  closer(times) {
    this.zoom = Math.max(FURTHEST, Math.min(CLOSEST, this.zoom * times));
    this.changed();
  }

  // Move the picture by shares of its half height.
  slide(right, up) {
    this.shift = [this.shift[0] - right / this.zoom, this.shift[1] - up / this.zoom];
    this.changed();
  }

  // Half the height in mm that a window as wide as ``aspect`` times its height shows.
  halfHeight(aspect) {
    return Math.max(this.tall, (1.06 * this.radius) / aspect) / this.zoom;
  }

  aim(aspect) {
    const half = this.halfHeight(aspect);
    const { camera } = this;
    [camera.left, camera.right, camera.top, camera.bottom] = [-half * aspect, half * aspect, half, -half];
    [camera.near, camera.far] = [0.1 * this.radius, 9 * this.radius];
    const [a, e] = [radians(this.azimuth), radians(this.elevation)];
    const to = new Vector3(Math.cos(e) * Math.cos(a), Math.cos(e) * Math.sin(a), Math.sin(e));
    const right = new Vector3(-Math.sin(a), Math.cos(a), 0);
    const up = new Vector3().crossVectors(to, right);
    const whole = half * this.zoom;
    const at = this.middle.clone()
      .addScaledVector(right, this.shift[0] * whole).addScaledVector(up, this.shift[1] * whole);
    camera.position.copy(at).addScaledVector(to, 4 * this.radius);
    camera.lookAt(at);
    camera.updateProjectionMatrix();
    camera.updateMatrixWorld();
  }
}

// Drag turns, Shift and drag moves, two fingers zoom and tilt; a press without a drag is a click.
export function pointed(stage, eye, clicked) {
  const held = new Map();
  let still = true;
  stage.addEventListener("pointerdown", (event) => {
    if (event.button) return;
    if (!held.size) still = true;
    held.set(event.pointerId, [event.clientX, event.clientY, event.clientX, event.clientY]);
    stage.setPointerCapture(event.pointerId);
  });
  stage.addEventListener("pointermove", (event) => {
    const before = held.get(event.pointerId);
    if (!before) return;
    const [x, y, startX, startY] = before;
    const spread = held.size === 2 && apart(held);
    const by = [event.clientX - x, event.clientY - y];
    held.set(event.pointerId, [event.clientX, event.clientY, startX, startY]);
    if (Math.hypot(event.clientX - startX, event.clientY - startY) > 5) still = false;
    if (still) return;
    if (spread) {
      eye.closer(apart(held) / Math.max(1, spread));
      eye.turn((-DEGREES_A_PIXEL * by[0]) / 2, (DEGREES_A_PIXEL * by[1]) / 2);
    } else if (event.shiftKey) {
      const half = stage.clientHeight / 2;
      eye.slide(by[0] / half, -by[1] / half);
    } else {
      eye.turn(-DEGREES_A_PIXEL * by[0], DEGREES_A_PIXEL * by[1]);
    }
  });
  const over = (event) => {
    if (held.delete(event.pointerId) && still && event.type === "pointerup") {
      clicked(event.clientX, event.clientY);
    }
  };
  stage.addEventListener("pointerup", over);
  stage.addEventListener("pointercancel", over);
  stage.addEventListener("wheel", (event) => {
    // The wheel alone goes on scrolling the page.
    if (!event.ctrlKey) return;
    event.preventDefault();
    eye.closer(Math.exp(-0.003 * event.deltaY));
  }, { passive: false });
}

function apart(held) {
  const [a, b] = [...held.values()];
  return Math.hypot(a[0] - b[0], a[1] - b[1]);
}

export function keyed(host, eye) {
  const keys = {
    ArrowLeft: () => eye.turn(-DEGREES_A_KEY, 0), ArrowRight: () => eye.turn(DEGREES_A_KEY, 0),
    ArrowUp: () => eye.turn(0, DEGREES_A_KEY), ArrowDown: () => eye.turn(0, -DEGREES_A_KEY),
    "+": () => eye.closer(1.2), "=": () => eye.closer(1.2), "-": () => eye.closer(1 / 1.2),
    Home: () => eye.look("Corner"),
  };
  host.addEventListener("keydown", (event) => {
    const act = event.target === host && !event.ctrlKey && !event.metaKey && keys[event.key];
    if (!act) return;
    event.preventDefault();
    act();
  });
}

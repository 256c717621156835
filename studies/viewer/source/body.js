// One layout as things to draw: skin, outline, the ring where yielding starts, the point read.

import {
  BufferAttribute, BufferGeometry, CanvasTexture, Color, DoubleSide, LineSegments, Mesh, Scene,
  ShaderMaterial, Sprite, SpriteMaterial,
} from "three";
import { hit } from "./picking.js";

const INK = "#1c2126";
const MARK = "#d1176b";
const GLASS_ALPHA = 0.3;

const PLACE = `
  attribute vec3 move;
  uniform float grow;
  vec4 seen() { return modelViewMatrix * vec4(position + grow * move, 1.0); }
`;
const SKIN_VERTEX = `${PLACE}
  attribute float share;
  varying float vShare;
  varying vec3 vSeen;
  void main() {
    vShare = share;
    vec4 place = seen();
    vSeen = place.xyz;
    gl_Position = projectionMatrix * place;
  }
`;
// Weak shading, without a light colour: the colours must stay those of the legend.
const SKIN_FRAGMENT = `
  uniform sampler2D colours;
  uniform float top;
  uniform bool plain;
  uniform vec3 part;
  uniform float alpha;
  varying float vShare;
  varying vec3 vSeen;
  void main() {
    vec3 normal = normalize(cross(dFdx(vSeen), dFdy(vSeen)));
    float light = max(0.0, dot(normal, normalize(vec3(-0.35, 0.6, 0.75))));
    float at = clamp(vShare / top, 0.0, 1.0) * 255.0 / 256.0 + 0.5 / 256.0;
    vec3 colour = plain ? part : texture2D(colours, vec2(at, 0.5)).rgb;
    float shade = plain ? 0.62 + 0.42 * light : 0.8 + 0.2 * light;
    gl_FragColor = vec4(colour * shade, alpha);
  }
`;
const LINE_VERTEX = `${PLACE}
  void main() { gl_Position = projectionMatrix * seen(); }
`;
const LINE_FRAGMENT = `
  uniform vec3 ink;
  void main() { gl_FragColor = vec4(ink, 1.0); }
`;

export class Body {
  constructor(layout, numbers, shared) {
    Object.assign(this, { layout, numbers, shared });
    this.scene = new Scene();
    this.load = null;
    const still = new BufferAttribute(new Float32Array(3 * layout.points), 3);
    const none = new BufferAttribute(new Float32Array(layout.points), 1);
    this.fields = [
      { move: still, share: none },
      ...numbers.loads.map((load) => ({
        move: new BufferAttribute(load.move, 3),
        share: new BufferAttribute(load.share, 1),
      })),
    ];
    const places = new BufferAttribute(numbers.places, 3);
    this.skin = geometry(places, numbers.triangles);
    this.outline = geometry(places, numbers.lines);
    this.materials = layout.parts.map((part, index) => {
      this.skin.addGroup(3 * part.first, 3 * part.count, index);
      return skinMaterial(part.colour, shared);
    });
    const ink = { value: new Color().setStyle(INK, "") };
    const line = new ShaderMaterial({
      uniforms: { grow: shared.grow, ink }, vertexShader: LINE_VERTEX, fragmentShader: LINE_FRAGMENT,
    });
    this.ring = [spot(ringPicture(), 1, true), spot(ringPicture(), 0.55, false)];
    this.dot = [spot(dotPicture(), 1, false)];
    for (const one of [
      new Mesh(this.skin, this.materials), new LineSegments(this.outline, line), ...this.ring, ...this.dot,
    ]) {
      one.frustumCulled = false;
      this.scene.add(one);
    }
    this.lineMaterial = line;
    this.read = null;
  }

  setLoad(index) {
    this.load = index < 0 ? null : this.numbers.loads[index];
    const field = this.fields[index + 1];
    for (const one of [this.skin, this.outline]) {
      one.setAttribute("move", field.move);
      one.setAttribute("share", field.share);
    }
    const marker = index < 0 ? null : this.layout.loads[index].marker;
    this.marked = marker ? { point: marker, nearest: this.nearest(marker) } : null;
  }

  setGlass(on) {
    this.layout.parts.forEach((part, index) => {
      const material = this.materials[index];
      const glass = on && part.glass;
      material.transparent = glass;
      material.depthWrite = !glass;
      material.uniforms.alpha.value = glass ? GLASS_ALPHA : 1;
      material.needsUpdate = true;
    });
    this.glass = on;
  }

  // Put the spots where the drawn steel is; size is in mm.
  place(size) {
    const grow = this.shared.grow.value;
    for (const one of this.ring) {
      one.visible = Boolean(this.marked);
      if (this.marked) {
        const by = this.moved(this.marked.nearest);
        one.position.set(...this.marked.point.map((value, axis) => value + grow * by[axis]));
        one.scale.setScalar(size);
      }
    }
    for (const one of this.dot) {
      one.visible = Boolean(this.read);
      if (this.read) {
        one.position.set(...this.mixed(this.read, (i) => this.at(i)));
        one.scale.setScalar(0.3 * size);
      }
    }
  }

  at(i) {
    const grow = this.shared.grow.value;
    const by = this.moved(i);
    return by.map((value, axis) => this.numbers.places[3 * i + axis] + grow * value);
  }

  moved(i) {
    const move = this.load ? this.load.move : this.fields[0].move.array;
    return [move[3 * i], move[3 * i + 1], move[3 * i + 2]];
  }

  mixed(found, value) {
    const sum = [0, 0, 0];
    found.weights.forEach((weight, corner) => {
      value(this.numbers.triangles[3 * found.triangle + corner]).forEach((one, axis) => {
        sum[axis] += weight * one;
      });
    });
    return sum;
  }

  // What stands under a ray: {part, share, stress_mpa, moved_mm}, or null. It is marked with a dot.
  pick(origin, direction) {
    const runs = this.layout.parts;
    const through = (t) =>
      this.glass && runs.some((run) => run.glass && t >= run.first && t < run.first + run.count);
    const found = hit(this.numbers.triangles, (i) => this.at(i), origin, direction, through);
    if (!found) return null;
    const run = runs.find((one) => found.triangle < one.first + one.count);
    const told = { found, part: run.name };
    if (this.load) {
      const share = (i) => [this.load.share[i], this.load.share[i] * this.numbers.yieldAt(i), 0];
      [told.share, told.stress_mpa] = this.mixed(found, share);
      told.moved_mm = Math.hypot(...this.mixed(found, (i) => this.moved(i)));
    }
    return told;
  }

  nearest(point) {
    const places = this.numbers.places;
    let best = 0;
    let least = Infinity;
    for (let i = 0; i < places.length / 3; i++) {
      const far = Math.hypot(
        places[3 * i] - point[0], places[3 * i + 1] - point[1], places[3 * i + 2] - point[2],
      );
      if (far < least) [least, best] = [far, i];
    }
    return best;
  }

  dispose() {
    this.skin.dispose();
    this.outline.dispose();
    this.lineMaterial.dispose();
    for (const material of this.materials) material.dispose();
    for (const one of [...this.ring, ...this.dot]) {
      one.material.map.dispose();
      one.material.dispose();
    }
  }
}

function geometry(places, index) {
  const made = new BufferGeometry();
  made.setAttribute("position", places);
  made.setIndex(new BufferAttribute(index, 1));
  return made;
}

function skinMaterial(colour, shared) {
  return new ShaderMaterial({
    uniforms: {
      grow: shared.grow, colours: shared.colours, top: shared.top, plain: shared.plain,
      part: { value: new Color().setStyle(colour, "") }, alpha: { value: 1 },
    },
    vertexShader: SKIN_VERTEX,
    fragmentShader: SKIN_FRAGMENT,
    side: DoubleSide,
    // Behind its own outline, so that lines are not eaten by the faces beside them.
    polygonOffset: true,
    polygonOffsetFactor: 1,
    polygonOffsetUnits: 1,
  });
}

function spot(picture, opacity, hides) {
  const map = new CanvasTexture(picture);
  const material = new SpriteMaterial({ map, opacity, depthTest: hides, depthWrite: false });
  const made = new Sprite(material);
  made.renderOrder = 2;
  return made;
}

function ringPicture() {
  return drawn((pen) => {
    for (const [width, colour] of [[16, "#ffffff"], [9, MARK]]) {
      pen.lineWidth = width;
      pen.strokeStyle = colour;
      pen.beginPath();
      pen.arc(64, 64, 50, 0, 2 * Math.PI);
      pen.stroke();
    }
  });
}

function dotPicture() {
  return drawn((pen) => {
    for (const [radius, colour] of [[60, INK], [46, "#ffffff"], [30, INK]]) {
      pen.fillStyle = colour;
      pen.beginPath();
      pen.arc(64, 64, radius, 0, 2 * Math.PI);
      pen.fill();
    }
  });
}

function drawn(with_) {
  const canvas = document.createElement("canvas");
  canvas.width = canvas.height = 128;
  with_(canvas.getContext("2d"));
  return canvas;
}

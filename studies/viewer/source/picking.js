// Which point of a layout lies under the pointer.

// The first triangle hit by a ray, as {triangle, weights}, or null. at(i) gives a point's place.
export function hit(triangles, at, origin, direction, skip) {
  let best = null;
  let nearest = Infinity;
  for (let t = 0; t < triangles.length / 3; t++) {
    if (skip(t)) continue;
    const a = at(triangles[3 * t]);
    const e1 = minus(at(triangles[3 * t + 1]), a);
    const e2 = minus(at(triangles[3 * t + 2]), a);
    const p = cross(direction, e2);
    const scale = dot(e1, p);
    if (Math.abs(scale) < 1e-12) continue;
    const from = minus(origin, a);
    const u = dot(from, p) / scale;
    if (u < 0 || u > 1) continue;
    const q = cross(from, e1);
    const v = dot(direction, q) / scale;
    if (v < 0 || u + v > 1) continue;
    const far = dot(e2, q) / scale;
    if (far > 0 && far < nearest) {
      nearest = far;
      best = { triangle: t, weights: [1 - u - v, u, v] };
    }
  }
  return best;
}

const minus = (a, b) => [a[0] - b[0], a[1] - b[1], a[2] - b[2]];
const dot = (a, b) => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
const cross = (a, b) => [
  a[1] * b[2] - a[2] * b[1],
  a[2] * b[0] - a[0] * b[2],
  a[0] * b[1] - a[1] * b[0],
];

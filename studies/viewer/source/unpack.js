// Turns a pack, as studies/viewer/packing.py writes it, back into numbers.

export const VERSION = 1;

async function inflated(base64) {
  const text = atob(base64);
  const bytes = new Uint8Array(text.length);
  for (let i = 0; i < text.length; i++) bytes[i] = text.charCodeAt(i);
  const stream = new Blob([bytes]).stream().pipeThrough(new DecompressionStream("gzip"));
  return new Uint8Array(await new Response(stream).arrayBuffer());
}

// Whole numbers as they were before packing: differences undone, columns side by side again.
function reader(bytes) {
  let at = 0;
  return (count, columns, width) => {
    const size = count * columns;
    const out = new Int32Array(size);
    for (let column = 0; column < columns; column++) {
      let value = 0;
      for (let i = 0; i < count; i++) {
        let folded = 0;
        for (let plane = width - 1; plane >= 0; plane--) {
          folded = (folded << 8) | bytes[at + plane * size + column * count + i];
        }
        value += (folded >>> 1) ^ -(folded & 1);
        out[i * columns + column] = value;
      }
    }
    at += size * width;
    return out;
  };
}

function scaled(whole, step) {
  const out = new Float32Array(whole.length);
  for (let i = 0; i < whole.length; i++) out[i] = whole[i] * step;
  return out;
}

// One layout: places in mm, triangles, lines, and for each load shares of yield and movements.
export async function unpacked(layout, pack) {
  const next = reader(await inflated(layout.data));
  const places = scaled(next(layout.points, 3, 2), pack.step);
  for (let i = 0; i < places.length; i++) places[i] += pack.low[i % 3];
  const triangles = Uint32Array.from(next(layout.triangles, 3, 4));
  const lines = Uint32Array.from(next(layout.lines, 2, 4));
  const kinds = layout.yields.length ? next(layout.points, 1, 2) : null;
  const loads = layout.loads.map((load) => ({
    share: scaled(next(layout.points, 1, 2), load.share_step),
    move: scaled(next(layout.points, 3, 2), load.move_step),
  }));
  return { places, triangles, lines, loads, yieldAt: (i) => (kinds ? layout.yields[kinds[i]] : 0) };
}

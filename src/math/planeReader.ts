/** Reads a plane at another size, in rows or at single places: bilinear, centres on half places, edges repeated. */
export interface Reader {
  row(y: number, out: Float32Array): void;
  at(x: number, y: number): number;
}

export function readerOf(
  plane: Float32Array,
  from: { readonly width: number; readonly height: number },
  width: number,
  height: number,
): Reader {
  const placeOf = (n: number, count: number, own: number): number =>
    Math.max(0, Math.min(own - 1, ((n + 0.5) * own) / count - 0.5));
  const left = new Int32Array(width);
  const right = new Int32Array(width);
  const part = new Float32Array(width);
  for (let x = 0; x < width; x++) {
    const at = placeOf(x, width, from.width);
    left[x] = Math.floor(at);
    right[x] = Math.min(from.width - 1, left[x]! + 1);
    part[x] = at - left[x]!;
  }
  const mixed = (x: number, above: number, below: number, fy: number): number => {
    const [c, d, fx] = [left[x]!, right[x]!, part[x]!];
    const high = plane[above + c]! * (1 - fx) + plane[above + d]! * fx;
    const low = plane[below + c]! * (1 - fx) + plane[below + d]! * fx;
    return high * (1 - fy) + low * fy;
  };
  const rowsAt = (y: number): [above: number, below: number, fy: number] => {
    const at = placeOf(y, height, from.height);
    const top = Math.floor(at);
    return [top * from.width, Math.min(from.height - 1, top + 1) * from.width, at - top];
  };
  const line = new Float32Array(from.width);
  return {
    row: (y, out) => {
      const [above, below, fy] = rowsAt(y);
      for (let c = 0; c < line.length; c++) line[c] = plane[above + c]! * (1 - fy) + plane[below + c]! * fy;
      for (let x = 0; x < width; x++) out[x] = line[left[x]!]! * (1 - part[x]!) + line[right[x]!]! * part[x]!;
    },
    at: (x, y) => mixed(x, ...rowsAt(y)),
  };
}

/** The plane at another size; only `rows` are filled, the others are 0. */
export function stretched(
  plane: Float32Array,
  from: { readonly width: number; readonly height: number },
  width: number,
  height: number,
  rows: { readonly from: number; readonly to: number } = { from: 0, to: height },
): Float32Array {
  const out = new Float32Array(width * height);
  const reader = readerOf(plane, from, width, height);
  for (let y = rows.from; y < rows.to; y++) reader.row(y, out.subarray(y * width, (y + 1) * width));
  return out;
}

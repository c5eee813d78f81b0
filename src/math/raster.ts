/** Operations on row-major planes of `width * height` numbers. Edges are repeated. */

/** Mean over a (2 radius + 1) square by running sums; `out` may be `plane`'s own copy only. */
export function boxBlur(plane: Float32Array, width: number, height: number, radius: number): Float32Array {
  if (radius < 1) return Float32Array.from(plane);
  return blurColumns(blurRows(plane, width, height, radius), width, height, radius);
}

function blurRows(plane: Float32Array, width: number, height: number, radius: number): Float32Array {
  const out = new Float32Array(plane.length);
  const norm = 1 / (2 * radius + 1);
  for (let y = 0; y < height; y++) {
    const row = y * width;
    let sum = plane[row]! * (radius + 1);
    for (let x = 1; x <= radius; x++) sum += plane[row + Math.min(x, width - 1)]!;
    for (let x = 0; x < width; x++) {
      out[row + x] = sum * norm;
      sum += plane[row + Math.min(x + radius + 1, width - 1)]! - plane[row + Math.max(x - radius, 0)]!;
    }
  }
  return out;
}

function blurColumns(plane: Float32Array, width: number, height: number, radius: number): Float32Array {
  const out = new Float32Array(plane.length);
  const norm = 1 / (2 * radius + 1);
  const sums = new Float64Array(width);
  for (let x = 0; x < width; x++) sums[x] = plane[x]! * (radius + 1);
  for (let y = 1; y <= radius; y++) {
    const row = Math.min(y, height - 1) * width;
    for (let x = 0; x < width; x++) sums[x]! += plane[row + x]!;
  }
  for (let y = 0; y < height; y++) {
    const row = y * width;
    const enter = Math.min(y + radius + 1, height - 1) * width;
    const leave = Math.max(y - radius, 0) * width;
    for (let x = 0; x < width; x++) {
      out[row + x] = sums[x]! * norm;
      sums[x]! += plane[enter + x]! - plane[leave + x]!;
    }
  }
  return out;
}

/** Close to a Gaussian of the same reach: two box passes. */
export function smooth(plane: Float32Array, width: number, height: number, radius: number): Float32Array {
  return boxBlur(boxBlur(plane, width, height, radius), width, height, radius);
}

/**
 * Smooth surface through the pixels with weight > 0 (normalised convolution). Where no such pixel is in reach,
 * the value comes from four times the reach, and so on.
 */
export function fillSmooth(
  plane: Float32Array,
  weight: Float32Array,
  width: number,
  height: number,
  radius: number,
): Float32Array {
  const weighted = new Float32Array(plane.length);
  for (let i = 0; i < plane.length; i++) weighted[i] = weight[i]! > 0 ? plane[i]! * weight[i]! : 0;
  const top = smooth(weighted, width, height, radius);
  const bottom = smooth(weight, width, height, radius);
  const enough = 0.02;
  let poor = false;
  for (let i = 0; i < plane.length && !poor; i++) poor = bottom[i]! < enough;
  const wider = poor && radius < Math.max(width, height) ? fillSmooth(plane, weight, width, height, radius * 3) : null;
  const out = new Float32Array(plane.length);
  for (let i = 0; i < plane.length; i++) {
    const support = Math.max(0, bottom[i]!);
    const own = support > 1e-6 ? top[i]! / support : 0;
    if (wider === null || support >= enough) out[i] = own;
    else {
      const share = support / enough;
      out[i] = own * share + wider[i]! * (1 - share);
    }
  }
  return out;
}

/** Minimum (or, with `sign` -1, maximum) over a (2 radius + 1) square of a 0/1 mask. */
export function shrink(mask: Uint8Array, width: number, height: number, radius: number): Uint8Array {
  return spread(mask, width, height, radius, 0);
}

export function grow(mask: Uint8Array, width: number, height: number, radius: number): Uint8Array {
  return spread(mask, width, height, radius, 1);
}

function spread(mask: Uint8Array, width: number, height: number, radius: number, winner: 0 | 1): Uint8Array {
  const rows = new Uint8Array(mask.length).fill(1 - winner);
  for (let y = 0; y < height; y++) {
    let last = -1e9;
    for (let x = 0; x < width + radius; x++) {
      if (x < width && mask[y * width + x] === winner) last = x;
      const at = x - radius;
      if (at >= 0 && at < width && last >= at - radius) rows[y * width + at] = winner;
    }
  }
  const out = new Uint8Array(mask.length).fill(1 - winner);
  const last = new Int32Array(width).fill(-1e9);
  for (let y = 0; y < height + radius; y++) {
    for (let x = 0; x < width; x++) {
      if (y < height && rows[y * width + x] === winner) last[x] = y;
      const at = y - radius;
      if (at >= 0 && at < height && last[x]! >= at - radius) out[at * width + x] = winner;
    }
  }
  return out;
}

export interface Blob {
  readonly label: number;
  area: number;
  minX: number;
  minY: number;
  maxX: number;
  maxY: number;
  sumX: number;
  sumY: number;
}

/** Connected sets (4 neighbours) of mask = `value`. `labels` holds 0 for "none", else 1 + the index in `blobs`. */
export function connectedBlobs(
  mask: Uint8Array,
  width: number,
  height: number,
  value = 1,
): { labels: Int32Array; blobs: Blob[] } {
  const labels = new Int32Array(mask.length);
  const blobs: Blob[] = [];
  const stack: number[] = [];
  for (let start = 0; start < mask.length; start++) {
    if (mask[start] !== value || labels[start] !== 0) continue;
    const label = blobs.length + 1;
    const blob: Blob = { label, area: 0, minX: width, minY: height, maxX: 0, maxY: 0, sumX: 0, sumY: 0 };
    labels[start] = label;
    stack.push(start);
    while (stack.length > 0) {
      const i = stack.pop()!;
      const x = i % width;
      const y = (i - x) / width;
      blob.area++;
      blob.sumX += x;
      blob.sumY += y;
      if (x < blob.minX) blob.minX = x;
      if (x > blob.maxX) blob.maxX = x;
      if (y < blob.minY) blob.minY = y;
      if (y > blob.maxY) blob.maxY = y;
      if (x > 0 && mask[i - 1] === value && labels[i - 1] === 0) stack.push(mark(labels, i - 1, label));
      if (x < width - 1 && mask[i + 1] === value && labels[i + 1] === 0) stack.push(mark(labels, i + 1, label));
      if (y > 0 && mask[i - width] === value && labels[i - width] === 0) stack.push(mark(labels, i - width, label));
      if (y < height - 1 && mask[i + width] === value && labels[i + width] === 0)
        stack.push(mark(labels, i + width, label));
    }
    blobs.push(blob);
  }
  return { labels, blobs };
}

function mark(labels: Int32Array, index: number, label: number): number {
  labels[index] = label;
  return index;
}

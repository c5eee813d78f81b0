/** Operations on row-major planes of `width * height` numbers. Edges are repeated. */

/**
 * The rows that hold `value`, with `margin` rows more on either side: whatever is asked of that value's surroundings within `margin` rows
 * can be answered on these rows alone. No row where the mask holds none.
 */
export function rowsAround(
  mask: Uint8Array,
  width: number,
  value: number,
  margin: number,
): { from: number; to: number } {
  const first = mask.indexOf(value);
  if (first < 0) return { from: 0, to: 0 };
  const last = mask.lastIndexOf(value);
  return {
    from: Math.max(0, Math.floor(first / width) - margin),
    to: Math.min(mask.length / width, Math.floor(last / width) + 1 + margin),
  };
}

/** Mean over a (2 radius + 1) square by running sums; `out` may be `plane`'s own copy only. */
export function boxBlur(plane: Float32Array, width: number, height: number, radius: number): Float32Array {
  if (radius < 1) return plane.slice();
  return blurColumns(blurRows(plane, width, height, radius), width, height, radius);
}

function blurRows(plane: Float32Array, width: number, height: number, radius: number): Float32Array {
  const out = new Float32Array(plane.length);
  const norm = 1 / (2 * radius + 1);
  const last = width - 1;
  // The middle stretch, where neither end of the window is clamped, is free of comparisons.
  const from = Math.min(width, radius);
  const to = Math.max(from, last - radius);
  for (let y = 0; y < height; y++) {
    const row = y * width;
    let sum = plane[row]! * (radius + 1);
    for (let x = 1; x <= radius; x++) sum += plane[row + (x < last ? x : last)]!;
    let x = 0;
    for (; x < from; x++) {
      out[row + x] = sum * norm;
      sum += plane[row + Math.min(x + radius + 1, last)]! - plane[row]!;
    }
    for (let i = row + x; x < to; x++, i++) {
      out[i] = sum * norm;
      sum += plane[i + radius + 1]! - plane[i - radius]!;
    }
    for (; x < width; x++) {
      out[row + x] = sum * norm;
      sum += plane[row + last]! - plane[row + Math.max(x - radius, 0)]!;
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
      const sum = sums[x]!;
      out[row + x] = sum * norm;
      sums[x] = sum + plane[enter + x]! - plane[leave + x]!;
    }
  }
  return out;
}

/** Close to a Gaussian of the same reach: two box passes. */
export function smooth(plane: Float32Array, width: number, height: number, radius: number): Float32Array {
  return boxBlur(boxBlur(plane, width, height, radius), width, height, radius);
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

/**
 * Connected sets (4 neighbours) of mask = `value`. `labels` holds 0 for "none", else 1 + the index in `blobs`. Runs along rows are
 * joined to the runs they touch in the row above (union-find), so that large sets cost no more than small ones.
 */
export function connectedBlobs(
  mask: Uint8Array,
  width: number,
  height: number,
  value = 1,
): { labels: Int32Array; blobs: Blob[] } {
  const runs = findRuns(mask, width, height, value);
  const names = new Int32Array(runs.count);
  const blobs: Blob[] = [];
  const labels = new Int32Array(mask.length);
  for (let run = 0; run < runs.count; run++) {
    const root = rootOf(runs.parents, run);
    if (names[root] === 0) {
      const label = blobs.length + 1;
      names[root] = label;
      blobs.push({ label, area: 0, minX: width, minY: height, maxX: 0, maxY: 0, sumX: 0, sumY: 0 });
    }
    const label = names[root]!;
    const from = runs.starts[run]!;
    const to = runs.ends[run]!;
    labels.fill(label, from, to);
    const y = Math.floor(from / width);
    addRun(blobs[label - 1]!, from - y * width, to - y * width, y);
  }
  return { labels, blobs };
}

interface Runs {
  /** First index and index behind the last of each run, and the run it hangs on. */
  readonly starts: Int32Array;
  readonly ends: Int32Array;
  readonly parents: Int32Array;
  readonly count: number;
}

function findRuns(mask: Uint8Array, width: number, height: number, value: number): Runs {
  const most = (Math.ceil(width / 2) + 1) * height;
  const starts = new Int32Array(most);
  const ends = new Int32Array(most);
  const parents = new Int32Array(most);
  let count = 0;
  let above = 0;
  let aboveEnd = 0;
  for (let y = 0; y < height; y++) {
    const row = y * width;
    const first = count;
    for (let i = row; i < row + width;) {
      if (mask[i] !== value) {
        i++;
        continue;
      }
      const start = i;
      while (i < row + width && mask[i] === value) i++;
      starts[count] = start;
      ends[count] = i;
      parents[count] = count;
      // Runs of the row above that end before this one starts touch no later run either.
      while (above < aboveEnd && ends[above]! + width <= start) above++;
      for (let run = above; run < aboveEnd && starts[run]! + width < i; run++) join(parents, run, count);
      count++;
    }
    above = first;
    aboveEnd = count;
  }
  return { starts, ends, parents, count };
}

function rootOf(parents: Int32Array, run: number): number {
  let root = run;
  while (parents[root] !== root) {
    parents[root] = parents[parents[root]!]!;
    root = parents[root]!;
  }
  return root;
}

/** The earlier root stays, so that labels come in reading order. */
function join(parents: Int32Array, one: number, other: number): void {
  const a = rootOf(parents, one);
  const b = rootOf(parents, other);
  if (a < b) parents[b] = a;
  else parents[a] = b;
}

function addRun(blob: Blob, fromX: number, toX: number, y: number): void {
  const length = toX - fromX;
  blob.area += length;
  blob.sumX += ((fromX + toX - 1) / 2) * length;
  blob.sumY += y * length;
  blob.minX = Math.min(blob.minX, fromX);
  blob.maxX = Math.max(blob.maxX, toX - 1);
  blob.minY = Math.min(blob.minY, y);
  blob.maxY = Math.max(blob.maxY, y);
}

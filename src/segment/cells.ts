import { quickLog2 } from '../math/quickLog2.js';
import { quantile } from '../math/statistics.js';
import type { Grid } from '../model/regions.js';

/** The grid once more averaged into cells of k x k blocks, by medians: stars and grain gone. */
export interface CalmCells {
  readonly width: number;
  readonly height: number;
  /** Blocks per cell side. */
  readonly k: number;
  /** log2 of median luminance (floored). */
  readonly level: Float32Array;
  /** log2(R/G) and log2(B/G) of cell means, drawn towards 0 where there is too little light to tell. */
  readonly redness: Float32Array;
  readonly blueness: Float32Array;
  /** Luminance below which nothing is told apart. */
  readonly floor: number;
}

/** The same with texture kept as a number. */
export interface Cells extends CalmCells {
  /** Interquartile range of the cell's blocks over what grain alone gives at that level, log2; 0 = only grain. */
  readonly texture: Float32Array;
  /** Points of light that stand alone in the cell: 0 or 1. */
  readonly points: Float32Array;
}

const LONG_SIDE = 230;

export function buildCells(grid: Grid): Cells {
  const { cells, middle, range, top } = gatherCells(grid);
  const { floor } = cells;
  const grain = grainOf(middle, range, floor);
  const texture = new Float32Array(middle.length);
  const points = new Float32Array(middle.length);
  for (let c = 0; c < middle.length; c++) {
    const expected = grain * Math.sqrt(Math.max(floor, middle[c]!));
    texture[c] = quickLog2((range[c]! + 0.3 * expected) / (1.3 * expected));
    points[c] = top[c]! - middle[c]! > 7 * Math.max(range[c]!, expected) ? 1 : 0;
  }
  return { ...cells, texture, points };
}

export function buildCalmCells(grid: Grid): CalmCells {
  return gatherCells(grid).cells;
}

/** The cells, and of the luminance of each one's blocks the median, the interquartile range and the largest. */
function gatherCells(grid: Grid): { cells: CalmCells; middle: Float32Array; range: Float32Array; top: Float32Array } {
  const { luminance, red, green, blue } = grid;
  const k = Math.max(1, Math.round(Math.max(grid.width, grid.height) / LONG_SIDE));
  const width = Math.max(1, Math.floor(grid.width / k));
  const height = Math.max(1, Math.floor(grid.height / k));
  const n = width * height;
  const redness = new Float32Array(n);
  const blueness = new Float32Array(n);
  const range = new Float32Array(n);
  const top = new Float32Array(n);
  const values = new Float32Array(k * k);
  const middle = new Float32Array(n);
  for (let cy = 0; cy < height; cy++) {
    for (let cx = 0; cx < width; cx++) {
      let r = 0;
      let g = 0;
      let b = 0;
      let count = 0;
      for (let y = cy * k; y < cy * k + k; y++) {
        const row = y * grid.width + cx * k;
        for (let i = row; i < row + k; i++) {
          values[count++] = luminance[i]!;
          r += red[i]!;
          g += green[i]!;
          b += blue[i]!;
        }
      }
      sortFew(values);
      const c = cy * width + cx;
      middle[c] = values[count >> 1]!;
      range[c] = values[Math.floor(count * 0.75)]! - values[count >> 2]!;
      top[c] = values[count - 1]!;
      redness[c] = tint(r / count, g / count);
      blueness[c] = tint(b / count, g / count);
    }
  }
  const floor = floorOf(middle);
  const level = new Float32Array(n);
  for (let c = 0; c < n; c++) level[c] = quickLog2(Math.max(floor, middle[c]!));
  return { cells: { width, height, k, level, redness, blueness, floor }, middle, range, top };
}

/** log2 of a channel over green, drawn towards 0 where there is little light, and held within what can be told. */
export function tint(channel: number, green: number): number {
  const little = 0.0006 + 0.08 * Math.max(0, green);
  return quickLog2((Math.max(0, channel) + little) / (Math.max(0, green) + little));
}

/**
 * Log odds that a block of the grid is not the sky of this level and colour, from its light alone, -1.4 to 3.5; grain and darkness make
 * it less sure.
 */
export function strangeness(
  grid: Grid,
  i: number,
  floor: number,
  sky: number,
  skyRedness: number,
  skyBlueness: number,
): number {
  const light = Math.max(floor, grid.luminance[i]!);
  const level = quickLog2(light);
  const grain = 0.04 / Math.sqrt(light * 16 + 0.01);
  const dim = Math.max(0, Math.min(1, (-8 - level) / 3));
  const dl = (level - sky) / (0.3 + grain);
  const dr = (tint(grid.red[i]!, grid.green[i]!) - skyRedness) / (0.28 + grain + 0.4 * dim);
  const db = (tint(grid.blue[i]!, grid.green[i]!) - skyBlueness) / (0.34 + grain + 0.5 * dim);
  const distance = 0.5 * (dl * dl + 0.7 * dr * dr + 0.5 * db * db);
  return Math.max(-1.4, Math.min(3.5, distance - 1.5));
}

/** Insertion sort: for a handful of numbers faster than the general one. */
function sortFew(values: Float32Array): void {
  for (let n = 1; n < values.length; n++) {
    const value = values[n]!;
    let m = n - 1;
    for (; m >= 0 && values[m]! > value; m--) values[m + 1] = values[m]!;
    values[m + 1] = value;
  }
}

/** A three-hundredth of the frame's brighter light, but no darker than 13 stops under clipping. */
export function floorOf(middle: Float32Array): number {
  return Math.max(2 ** -13, quantile(middle, 0.9) / 300);
}

/** Photon noise: range = grain x sqrt(level); the quietest fifth of the cells shows grain alone. */
function grainOf(middle: Float32Array, range: Float32Array, floor: number): number {
  let count = 0;
  const all = new Float32Array(middle.length);
  for (let c = 0; c < middle.length; c++) if (middle[c]! > floor * 2) all[count++] = range[c]! / Math.sqrt(middle[c]!);
  if (count === 0) return 1e-4;
  return Math.max(1e-4, quantile(all.subarray(0, count), 0.25));
}

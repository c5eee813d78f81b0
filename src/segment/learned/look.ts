import { quickLog2 } from '../../math/quickLog2.js';
import { median } from '../../math/statistics.js';
import type { Grid } from '../../model/regions.js';
import { floorOf, tint } from '../cells.js';

/** What the network is given: `values` is row-major, interleaved, CHANNELS numbers a cell, each about -2 to 2. */
export interface Look {
  readonly width: number;
  readonly height: number;
  readonly values: Float32Array;
}

/** Level over the frame's own middle, absolute level, redness, blueness, fine texture, lone points, height in the frame. */
export const CHANNELS = 7;

/** Cells along the longer side; smaller grids keep their blocks. */
const LOOK_LONG_SIDE = 384;

/** Averages the grid into cells of about 1/384 of its longer side. Lengths in cells; levels in stops before scaling. */
export function lookOf(grid: Grid): Look {
  const step = Math.max(1, Math.max(grid.width, grid.height) / LOOK_LONG_SIDE);
  const width = Math.max(1, Math.floor(grid.width / step));
  const height = Math.max(1, Math.floor(grid.height / step));
  const { luminance, red: reds, green: greens, blue: blues } = grid;
  const values = new Float32Array(width * height * CHANNELS);
  const floor = floorOf(someOf(grid));
  const levels = new Float32Array(width * height);
  for (let cy = 0; cy < height; cy++) {
    const y0 = Math.floor(cy * step);
    const y1 = Math.max(y0 + 1, Math.floor((cy + 1) * step));
    for (let cx = 0; cx < width; cx++) {
      const x0 = Math.floor(cx * step);
      const x1 = Math.max(x0 + 1, Math.floor((cx + 1) * step));
      let sum = 0;
      let red = 0;
      let green = 0;
      let blue = 0;
      let top = 0;
      let change = 0;
      for (let y = y0; y < y1; y++) {
        const below = y + 1 < grid.height ? grid.width : 0;
        for (let i = y * grid.width + x0; i < y * grid.width + x1; i++) {
          const light = luminance[i]!;
          sum += light;
          red += reds[i]!;
          green += greens[i]!;
          blue += blues[i]!;
          if (light > top) top = light;
          change += Math.abs(luminance[i + below]! - light);
          if (i + 1 < (y + 1) * grid.width) change += Math.abs(luminance[i + 1]! - light);
        }
      }
      const count = (y1 - y0) * (x1 - x0);
      // The brightest block is left out: a star must not lift its cell.
      const calm = Math.max(floor, count > 3 ? (sum - top) / (count - 1) : sum / count);
      const c = cy * width + cx;
      const level = quickLog2(calm);
      levels[c] = level;
      const at = c * CHANNELS;
      values[at + 1] = (level + 6) / 6;
      values[at + 2] = tint(red / count, green / count) / 1.5;
      values[at + 3] = tint(blue / count, green / count) / 1.5;
      values[at + 4] = (quickLog2(change / count / calm + 0.004) + 4) / 3;
      values[at + 5] = Math.min(1.5, quickLog2(Math.max(1, top / calm)) / 3);
      values[at + 6] = ((cy + 0.5) / height) * 2 - 1;
    }
  }
  const middle = median(levels);
  for (let c = 0; c < levels.length; c++) values[c * CHANNELS] = Math.max(-2, Math.min(2, (levels[c]! - middle) / 3));
  return { width, height, values };
}

/** A thirty-first of the blocks is enough for the frame's brighter light. */
function someOf({ luminance }: Grid): Float32Array {
  const some = new Float32Array(Math.ceil(luminance.length / 31));
  for (let i = 0; i < some.length; i++) some[i] = luminance[i * 31]!;
  return some;
}

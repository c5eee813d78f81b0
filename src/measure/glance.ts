import { quickLog2 } from '../math/quickLog2.js';
import type { Glance } from '../model/night.js';
import { REGION, type Grid, type Regions } from '../model/regions.js';

/** Cells along the longer side. */
const LONG_SIDE = 96;
const DARKEST = 2 ** -14;

/** The frame at a glance: mean light and region of some six thousand cells. */
export function glanceAt(grid: Grid, regions: Regions): Glance {
  const scale = LONG_SIDE / Math.max(grid.width, grid.height);
  const width = Math.max(1, Math.round(grid.width * scale));
  const height = Math.max(1, Math.round(grid.height * scale));
  const light: number[] = [];
  const kinds: number[] = [];
  for (let y = 0; y < height; y++) {
    const [y0, y1] = span(y, height, grid.height);
    for (let x = 0; x < width; x++) {
      const [x0, x1] = span(x, width, grid.width);
      let sum = 0;
      let burnt = 0;
      for (let gy = y0; gy < y1; gy++)
        for (let gx = x0; gx < x1; gx++) {
          const i = gy * grid.width + gx;
          sum += grid.luminance[i]!;
          burnt += regions.burnt[i]!;
        }
      const middle = regions.mask[((y0 + y1) >> 1) * grid.width + ((x0 + x1) >> 1)]!;
      light.push(Math.round(100 * quickLog2(Math.max(DARKEST, sum / ((y1 - y0) * (x1 - x0))))));
      kinds.push(burnt > 0 && middle !== REGION.sky ? REGION.source : middle);
    }
  }
  return { width, height, light, regions: kinds };
}

function span(place: number, places: number, length: number): [number, number] {
  const from = Math.floor((place * length) / places);
  return [from, Math.max(from + 1, Math.floor(((place + 1) * length) / places))];
}

import type { LightMap } from '../model/lightMap.js';
import type { Grid, Regions } from '../model/regions.js';

/** Cells along the longer side. */
const LONG_SIDE = 300;

/** The frame's light averaged over cells, with what was found in each. */
export function lightMapOf(grid: Grid, regions: Pick<Regions, 'mask' | 'burnt'>): LightMap {
  const scale = Math.min(1, LONG_SIDE / Math.max(grid.width, grid.height));
  const width = Math.max(1, Math.round(grid.width * scale));
  const height = Math.max(1, Math.round(grid.height * scale));
  const cells = width * height;
  const planes = [new Float32Array(cells), new Float32Array(cells), new Float32Array(cells)] as const;
  const counts = new Uint32Array(cells);
  const burnt = new Uint8Array(cells);
  const kinds = new Uint8Array(cells);
  const columns = Uint16Array.from({ length: grid.width }, (_, x) => Math.floor((x * width) / grid.width));
  for (let y = 0; y < grid.height; y++) {
    const row = Math.floor((y * height) / grid.height) * width;
    for (let x = 0; x < grid.width; x++) {
      const i = y * grid.width + x;
      const cell = row + columns[x]!;
      planes[0][cell]! += grid.red[i]!;
      planes[1][cell]! += grid.green[i]!;
      planes[2][cell]! += grid.blue[i]!;
      counts[cell]!++;
      if (regions.burnt[i]! > 0) burnt[cell] = 1;
    }
  }
  for (let y = 0; y < height; y++)
    for (let x = 0; x < width; x++) {
      const cell = y * width + x;
      for (const plane of planes) plane[cell]! /= counts[cell]!;
      const gy = Math.min(grid.height - 1, Math.floor(((y + 0.5) * grid.height) / height));
      const gx = Math.min(grid.width - 1, Math.floor(((x + 0.5) * grid.width) / width));
      kinds[cell] = regions.mask[gy * grid.width + gx]!;
    }
  return { width, height, planes, regions: kinds, burnt };
}

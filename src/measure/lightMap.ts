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

/** Blocks along the longer side, at most. */
const SKETCH_SIDE = 960;

/** The grid and its mask made smaller by a whole number: enough to draw the frame from, little enough to hand on. */
export function sketchOf(grid: Grid, mask: Uint8Array): { grid: Grid; mask: Uint8Array } {
  const by = Math.ceil(Math.max(grid.width, grid.height) / SKETCH_SIDE);
  const width = Math.max(1, Math.floor(grid.width / by));
  const height = Math.max(1, Math.floor(grid.height / by));
  const less = (plane: Float32Array): Float32Array => {
    const out = new Float32Array(width * height);
    for (let y = 0; y < height; y++)
      for (let x = 0; x < width; x++) {
        let sum = 0;
        for (let dy = 0; dy < by; dy++)
          for (let dx = 0; dx < by; dx++) sum += plane[(y * by + dy) * grid.width + x * by + dx]!;
        out[y * width + x] = sum / (by * by);
      }
    return out;
  };
  const [red, green, blue] = [less(grid.red), less(grid.green), less(grid.blue)];
  const middle = by >> 1;
  const small = Uint8Array.from(
    { length: width * height },
    (_, i) => mask[(Math.floor(i / width) * by + middle) * grid.width + (i % width) * by + middle]!,
  );
  return {
    // Pictures need no luminance of their own.
    grid: { width, height, blockPx: grid.blockPx * by, red, green, blue, luminance: green },
    mask: small,
  };
}

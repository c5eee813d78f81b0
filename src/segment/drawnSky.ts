import { heightAt } from '../math/brokenLine.js';
import type { Grid } from '../model/regions.js';

/** A place in the upright frame, pixels, from its upper left corner. */
export type Point = readonly [x: number, y: number];

/** Sky (1) above a line through `points`, each block by its middle. The line goes on level beyond its ends. */
export function skyAbove(points: readonly Point[], grid: Grid): Uint8Array {
  const line = [...points].sort((a, b) => a[0] - b[0]);
  const sky = new Uint8Array(grid.width * grid.height);
  for (let x = 0; x < grid.width; x++) {
    const end = heightAt(line, (x + 0.5) * grid.blockPx);
    for (let y = 0; y < grid.height && (y + 0.5) * grid.blockPx < end; y++) sky[y * grid.width + x] = 1;
  }
  return sky;
}

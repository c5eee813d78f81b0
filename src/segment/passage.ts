import { boxBlur } from '../math/raster.js';
import type { Cells } from './cells.js';

const STEPS = 64;
/** Stops per step of the quantised passage. */
const STEP = 0.02;

/**
 * The smallest "largest step" (stops, level or colour, cell to cell) on any way from the `seeds` to each cell. Glow, cloud and the
 * Milky Way rise gently, so the whole sky is reached by small steps; land is behind an edge. Values stop at STEPS x STEP.
 */
export function passageFrom(cells: Cells, seeds: Uint8Array): Float32Array {
  const { width, height } = cells;
  const level = boxBlur(cells.level, width, height, 1);
  const redness = boxBlur(cells.redness, width, height, 1);
  const blueness = boxBlur(cells.blueness, width, height, 1);
  const best = new Uint8Array(width * height).fill(STEPS);
  const buckets: number[][] = Array.from({ length: STEPS + 1 }, () => []);
  for (let i = 0; i < seeds.length; i++)
    if (seeds[i] === 1) {
      best[i] = 0;
      buckets[0]!.push(i);
    }
  const stepTo = (a: number, b: number): number => {
    const step = Math.max(
      Math.abs(level[a]! - level[b]!),
      0.8 * Math.abs(redness[a]! - redness[b]!),
      0.6 * Math.abs(blueness[a]! - blueness[b]!),
    );
    return Math.min(STEPS, Math.round(step / STEP));
  };
  for (let now = 0; now < STEPS; now++) {
    const bucket = buckets[now]!;
    while (bucket.length > 0) {
      const i = bucket.pop()!;
      if (best[i]! < now) continue;
      const x = i % width;
      for (const j of [x > 0 ? i - 1 : -1, x < width - 1 ? i + 1 : -1, i - width, i + width]) {
        if (j < 0 || j >= best.length) continue;
        const reach = Math.max(now, stepTo(i, j));
        if (reach < best[j]!) {
          best[j] = reach;
          buckets[reach]!.push(j);
        }
      }
    }
  }
  return Float32Array.from(best, (value) => value * STEP);
}

import { boxBlur } from '../math/raster.js';
import type { Cells } from './cells.js';

const STEPS = 64;
/** Stops per step of the quantised passage. */
const STEP = 0.02;

/** Quantised step from each cell to its right and to its lower neighbour. */
export interface Steps {
  readonly right: Uint8Array;
  readonly down: Uint8Array;
}

export function stepsOf(cells: Cells): Steps {
  const { width, height } = cells;
  const level = boxBlur(cells.level, width, height, 1);
  const redness = boxBlur(cells.redness, width, height, 1);
  const blueness = boxBlur(cells.blueness, width, height, 1);
  const right = new Uint8Array(level.length).fill(STEPS);
  const down = new Uint8Array(level.length).fill(STEPS);
  const between = (a: number, b: number): number => {
    const step = Math.max(
      Math.abs(level[a]! - level[b]!),
      0.8 * Math.abs(redness[a]! - redness[b]!),
      0.6 * Math.abs(blueness[a]! - blueness[b]!),
    );
    return Math.min(STEPS, Math.round(step / STEP));
  };
  for (let i = 0; i < level.length; i++) {
    if ((i + 1) % width !== 0) right[i] = between(i, i + 1);
    if (i + width < level.length) down[i] = between(i, i + width);
  }
  return { right, down };
}

/**
 * The smallest "largest step" (stops, level or colour, cell to cell) on any way from the `seeds` to each cell. Glow, cloud and the
 * Milky Way rise gently, so the whole sky is reached by small steps; land is behind an edge. Values stop at STEPS x STEP.
 */
export function passageFrom(steps: Steps, width: number, seeds: Uint8Array): Float32Array {
  const { right, down } = steps;
  const best = new Uint8Array(seeds.length).fill(STEPS);
  const buckets: number[][] = Array.from({ length: STEPS + 1 }, () => []);
  let now = 0;
  const offer = (j: number, step: number): void => {
    const reach = step > now ? step : now;
    if (reach >= best[j]!) return;
    best[j] = reach;
    buckets[reach]!.push(j);
  };
  for (let i = 0; i < seeds.length; i++)
    if (seeds[i] === 1) {
      best[i] = 0;
      buckets[0]!.push(i);
    }
  for (; now < STEPS; now++) {
    const bucket = buckets[now]!;
    while (bucket.length > 0) {
      const i = bucket.pop()!;
      if (best[i]! < now) continue;
      const x = i % width;
      if (x > 0) offer(i - 1, right[i - 1]!);
      if (x < width - 1) offer(i + 1, right[i]!);
      if (i >= width) offer(i - width, down[i - width]!);
      if (i + width < best.length) offer(i + width, down[i]!);
    }
  }
  const passage = new Float32Array(best.length);
  for (let i = 0; i < best.length; i++) passage[i] = best[i]! * STEP;
  return passage;
}

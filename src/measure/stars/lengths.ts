import { median } from '../../math/statistics.js';
import type { StarShape } from './shape.js';

/** A star's shape is seen together with at most so many neighbours, and with no more than a third of all stars. */
const MOST_NEIGHBOURS = 8;

/**
 * Trail length at each star, pixels: sqrt(12 (a^2 - b^2)) of the middle of its own second moments and its neighbours'. a^2 - b^2 is the
 * size of (xx - yy, 2 xy), which is never negative: one star's grain adds to it whichever way it points. Among neighbours, whose trails
 * are alike, grain points all ways and cancels.
 */
export function trailLengths(shapes: readonly StarShape[]): number[] {
  const neighbours = Math.min(MOST_NEIGHBOURS, Math.floor(shapes.length / 3));
  return shapes.map((shape) => {
    // The nearest is the star itself.
    const near = [...shapes].sort((one, other) => apart(one, shape) - apart(other, shape)).slice(0, neighbours + 1);
    const p = median(near.map(({ xx, yy }) => xx - yy));
    const q = median(near.map(({ xy }) => 2 * xy));
    return Math.sqrt(12 * Math.hypot(p, q));
  });
}

/** Square of the distance. */
function apart(one: StarShape, other: StarShape): number {
  return (one.x - other.x) ** 2 + (one.y - other.y) ** 2;
}

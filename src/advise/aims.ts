import { likelyLift } from '../calibration/cameraLift.js';
import type { Facts } from './facts.js';

/**
 * Parts of the likely lift that are reckoned with: the file may as well be a plain developed one, which must stay within the tolerances. Its sky
 * comes out where it is aimed, but its paint is read less surely and clips besides. At most so much over the balance, stops.
 */
const PART = { sky: 0.9, balance: 0.4, mostOverBalance: 0.15 };

/**
 * How far above the wishes the levels, as they will be read, are aimed, stops: what a JPEG of unknown curve probably shows brighter than the
 * light was. What is foretold goes from the levels read now, so that their own lift counts.
 */
export function aimsAbove({ skyStops, paintedStops, levelUncertaintyStops }: Facts): { sky: number; balance: number } {
  if (skyStops === null) return { sky: 0, balance: 0 };
  const sky = likelyLift(skyStops, levelUncertaintyStops);
  const paint = paintedStops === null ? sky : likelyLift(paintedStops, levelUncertaintyStops);
  return { sky: PART.sky * sky, balance: Math.min(PART.mostOverBalance, PART.balance * (paint - sky)) };
}

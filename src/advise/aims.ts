import { likelyLift } from '../calibration/cameraLift.js';
import { isOff, skyMiss, type Candidate } from './candidate.js';
import type { Facts } from './facts.js';

/**
 * Parts of the likely lift that are reckoned with: the file may as well be a plain developed one, which must stay within the tolerances. Its sky
 * comes out where it is aimed, but its paint is read less surely and clips besides. At most so much over the wishes, stops.
 */
const PART = { sky: 0.7, mostOverSky: 0.28, balance: 0.4, mostOverBalance: 0.15 };

/**
 * How far above the wishes the levels, as they will be read, are aimed, stops: what a JPEG of unknown curve probably shows brighter than the
 * light was. What is foretold goes from the levels read now, so that their own lift counts.
 */
export function aimsAbove({ skyStops, paintedStops, levelUncertaintyStops }: Facts): { sky: number; balance: number } {
  if (skyStops === null) return { sky: 0, balance: 0 };
  const sky = likelyLift(skyStops, levelUncertaintyStops);
  const paint = paintedStops === null ? sky : likelyLift(paintedStops, levelUncertaintyStops);
  return {
    sky: Math.min(PART.mostOverSky, PART.sky * sky),
    balance: Math.min(PART.mostOverBalance, PART.balance * (paint - sky)),
  };
}

/**
 * How far the sky is off, stops; null where it is near enough. What a file of unknown curve shows at the target, or a little under it, is
 * probably darker than that.
 */
export function skyOff(facts: Facts, candidate: Candidate): number | null {
  const { wishes } = facts;
  const miss = skyMiss(candidate, wishes);
  if (miss === null || isOff(miss, wishes)) return miss;
  const low = miss - aimsAbove(facts).sky;
  return low < -wishes.toleranceStops ? low : null;
}

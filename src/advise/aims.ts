import { likelyLift } from '../calibration/cameraLift.js';
import { heightAt } from '../math/brokenLine.js';
import { isOff, skyMiss, type Exposed } from './candidate.js';
import type { Facts } from './facts.js';

/**
 * Parts of the likely lift that are reckoned with: the file may as well be a plain developed one, which must stay within the tolerances. Its sky
 * comes out where it is aimed, but its paint is read less surely and clips besides. At most so much over the wishes, stops.
 */
const PART = { sky: 0.7, mostOverSky: 0.28, balance: 0.4, mostOverBalance: 0.15 };

/** Aimed so far above, no plain file would do: the frame's own stars tell that it is lifted. */
export function isTold(above: number): boolean {
  return above > PART.mostOverSky;
}

/** How far over its target the file shows a sky that is on it, where its stars tell; else 0. Stops. */
export function toldAbove(facts: Facts): number {
  const { sky } = aimsAbove(facts);
  return isTold(sky) ? sky : 0;
}

/** A lift of which the frame's own stars tell at least so much is no plain file's: from the first on more of it is reckoned with, from the second all. */
const OWN_LIFT = [
  [0.5, 0],
  [0.65, 1],
] as const;

/**
 * How far above the wishes the levels, as they will be read, are aimed, stops: what a JPEG of unknown curve probably shows brighter than the
 * light was. What is foretold goes from the levels read now, so that their own lift counts.
 */
export function aimsAbove({ skyStops, paintedStops, levelUncertaintyStops, curveHint }: Facts): {
  sky: number;
  balance: number;
} {
  if (skyStops === null) return { sky: 0, balance: 0 };
  const lift = likelyLift(levelUncertaintyStops, curveHint);
  const sky = lift.at(skyStops);
  const paint = paintedStops === null ? sky : lift.at(paintedStops);
  return {
    sky: curveHint === null ? Math.min(PART.mostOverSky, PART.sky * sky) : aimGiven(sky, lift.told),
    balance: Math.min(PART.mostOverBalance, PART.balance * (paint - sky)),
  };
}

function aimGiven(lift: number, told: number): number {
  const plain = Math.max(0, Math.min(PART.mostOverSky, lift));
  return Math.min(PART.mostOverSky + told, plain + heightAt(OWN_LIFT, lift) * (lift - plain));
}

/** Part of its error by which a level that was read through a guessed curve must lie nearer to its target: at the edge it is as likely outside. */
const GUESS_PART = 0.4;

/** What is let pass of the sky, stops. */
export function skyTolerance({ wishes, curveGuessed, levelUncertaintyStops }: Facts): number {
  return curveGuessed
    ? Math.max(wishes.toleranceStops / 2, wishes.toleranceStops - GUESS_PART * levelUncertaintyStops)
    : wishes.toleranceStops;
}

/**
 * How far the sky is off, stops; null where it is near enough. What a file of unknown curve shows at the target, or a little under it, is
 * probably darker than that; what the frame's own stars tell of its lift moves the upper end as well.
 */
export function skyOff(facts: Facts, candidate: Exposed): number | null {
  const { wishes } = facts;
  const miss = skyMiss(candidate, wishes);
  if (miss === null) return null;
  const above = aimsAbove(facts).sky;
  const tolerance = skyTolerance(facts);
  const high = miss - Math.max(0, above - PART.mostOverSky);
  if (high > tolerance) return high;
  if (miss < -tolerance) return miss;
  const low = miss - above;
  return low < -tolerance ? low : null;
}

/** Whether the file shows a sky that is `off` to be so; else it shows little, and is not let pass for what it probably hides. */
export function isShownOff({ wishes, curveGuessed }: Facts, now: Exposed, off: number): boolean {
  return off > 0 || curveGuessed || isOff(skyMiss(now, wishes), wishes);
}

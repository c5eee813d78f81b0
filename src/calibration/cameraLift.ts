import { heightAt } from '../math/brokenLine.js';
import { dot, solveSystem } from '../math/leastSquares.js';
import type { CurveHint } from '../model/curveHint.js';
import { CERTAINTY, CURVE_KNOTS, LIKELY_OVER } from './data/displayCurves.js';

/** Files whose levels are known no better than this may be a camera's own JPEG, of unknown curve. Stops. */
const MAY_BE_LIFTED_FROM_STOPS = 0.4;

/** Darker than this, what cameras' curves have in common is less than what sets them apart: toes, lifted black. Stops. */
const COMMON_FROM_STOPS = -6;

/** How far a file of unknown curve shows light over what fell. */
export interface Lift {
  /** By level as read, stops; 0 where the file's curve is known. */
  readonly at: (stops: number) => number;
  /** How much of what is known comes from the frame itself, 0 to 1; the rest is what cameras' curves have in common. */
  readonly told: number;
}

const NONE: Lift = { at: () => 0, told: 0 };
const COMMON: Lift = liftBy(LIKELY_OVER, 0);

/**
 * How much brighter a camera's own JPEG probably shows a level than light read through sRGB would be: 18 % grey stands where sRGB has it, though
 * the sensor holds it at 12.7 % of its clipping (ISO 12232:2019, saturation speed: half a stop). What the frame's own stars tell of the curve
 * is joined with what cameras' curves have in common as a measurement with a Gaussian prior.
 */
export function likelyLift(levelUncertaintyStops: number, hint: CurveHint | null): Lift {
  if (levelUncertaintyStops < MAY_BE_LIFTED_FROM_STOPS) return NONE;
  if (hint === null) return COMMON;
  const lift = given.get(hint) ?? liftGiven(hint);
  given.set(hint, lift);
  return lift;
}

/** Asked for each of many candidate settings. */
const given = new WeakMap<CurveHint, Lift>();

/** A sky near its target, stops, and how surely a lift of it is no plain file's. */
const NEAR_TARGET_STOPS = -4;
const OWN_LIFT = [
  [0.3, 0],
  [0.6, 1],
] as const;

/** How surely the hint tells a camera's own curve, not a plain file's, 0 to 1. */
export function tellsOwnCurve(hint: CurveHint): number {
  return heightAt(OWN_LIFT, liftGiven(hint).at(NEAR_TARGET_STOPS));
}

/** Mean of the family with one linear measurement: m + C g (value - g m) / (g C g + spread^2), C the covariance. */
function liftGiven({ parts, value, spread }: CurveHint): Lift {
  const shared = solveSystem(CERTAINTY.flat(), parts);
  if (shared === null) return COMMON;
  const variance = dot(parts, shared);
  const gain = (value - dot(parts, LIKELY_OVER)) / (variance + spread ** 2);
  return liftBy(
    LIKELY_OVER.map((over, n) => over + gain * shared[n]!),
    variance / (variance + spread ** 2),
  );
}

function liftBy(over: readonly number[], told: number): Lift {
  const line = CURVE_KNOTS.map((knot, n): readonly [number, number] => [knot, -over[n]!]);
  return { at: (stops) => heightAt(line, Math.max(COMMON_FROM_STOPS, stops)), told };
}

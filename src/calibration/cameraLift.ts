import { heightAt } from '../math/brokenLine.js';
import { CURVE_KNOTS, LIKELY_OVER } from './data/displayCurves.js';

/** Files whose levels are known no better than this may be a camera's own JPEG, of unknown curve. Stops. */
const MAY_BE_LIFTED_FROM_STOPS = 0.4;

/** Darker than this, what cameras' curves have in common is less than what sets them apart: toes, lifted black. Stops. */
const COMMON_FROM_STOPS = -6;

const LIFT = CURVE_KNOTS.map((knot, n): readonly [number, number] => [knot, -LIKELY_OVER[n]!]);

/**
 * How much brighter a camera's own JPEG probably shows a level than light read through sRGB would be, stops, by that level as read: 18 % grey
 * stands where sRGB has it, though the sensor holds it at 12.7 % of its clipping (ISO 12232:2019, saturation speed: half a stop). 0 where the
 * file's curve is known.
 */
export function likelyLift(stops: number, levelUncertaintyStops: number): number {
  return levelUncertaintyStops < MAY_BE_LIFTED_FROM_STOPS ? 0 : heightAt(LIFT, Math.max(COMMON_FROM_STOPS, stops));
}

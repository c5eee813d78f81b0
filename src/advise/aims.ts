import { likelyLift } from '../calibration/cameraLift.js';
import type { Facts } from './facts.js';

/** The file may as well be a plain developed one, whose balance must keep room in its tolerance. Stops. */
const MOST_OVER_BALANCE = 0.15;

/**
 * How far above the wishes the levels, as they will be read, are aimed, stops: what a JPEG of unknown curve probably shows brighter than the
 * light was. What is foretold goes from the levels read now, so that their own lift counts. Tries that tell lamps apart have told the curve.
 */
export function aimsAbove({ skyStops, paintedStops, levelUncertaintyStops, lampLayers }: Facts): {
  sky: number;
  balance: number;
} {
  if (skyStops === null || lampLayers !== null) return { sky: 0, balance: 0 };
  const sky = likelyLift(skyStops, levelUncertaintyStops);
  const paint = paintedStops === null ? sky : likelyLift(paintedStops, levelUncertaintyStops);
  return { sky, balance: Math.min(MOST_OVER_BALANCE, paint - sky) };
}

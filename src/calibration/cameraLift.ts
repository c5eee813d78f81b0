import { heightAt } from '../math/brokenLine.js';

/**
 * How much brighter a camera's own JPEG shows a level than light read through sRGB would be, stops, by that level as read. Cameras put 18 %
 * grey where sRGB has it, though the sensor holds it at 12.7 % of its clipping (ISO 12232:2019, saturation speed: half a stop); the S of
 * contrast laid over it takes that back deep in the shadows (common practice, no source: an S of a fifth).
 */
const LIFT: readonly (readonly [stops: number, lift: number])[] = [
  [-7, 0],
  [-6, 0.05],
  [-5, 0.12],
  [-4, 0.22],
  [-3, 0.4],
  [-2, 0.5],
];

/** Files whose levels are known no better than this may be a camera's own JPEG, of unknown curve or of one whose height is unknown. Stops. */
const MAY_BE_LIFTED_FROM_STOPS = 0.4;

/** Lift at a level as read, stops; 0 where the file's curve is known. */
export function likelyLift(stops: number, levelUncertaintyStops: number): number {
  return levelUncertaintyStops < MAY_BE_LIFTED_FROM_STOPS ? 0 : heightAt(LIFT, stops);
}

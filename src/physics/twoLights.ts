import { quickLog2 } from '../math/quickLog2.js';

/** Two lights on one piece of land, told apart by colour: log2(R/B), each of unit R + B. */

/** Light of land that is darker, stops, is grain and rounding: nothing is told of what lights it. */
export const BLACK_STOPS = -12.5;

/** Part of a mixture (0 to 1) that is the other light. */
export function shareOf(mixture: number, one: number, other: number): number {
  const apart = redPart(other) - redPart(one);
  return apart <= 0.02 ? 0 : Math.max(0, Math.min(1, (redPart(mixture) - redPart(one)) / apart));
}

/** log2(R/B) of equal parts of both. */
export function mixedWarmth(one: number, other: number): number {
  const red = redPart(one) + redPart(other);
  return Math.log2(red / (2 - red));
}

/** How much a colour can be trusted at this level (log2 luminance): in deep shadow it is grain. */
export function colourTrust(level: number): number {
  return Math.max(0, Math.min(1, (level + 11.5) / 2.5));
}

/** Added before two channels are compared, so that nothing is told from next to no light. */
const LITTLE = 2 ** -13.5;

/** log2(R/B) of light. */
export function warmthOfLight(red: number, blue: number): number {
  return quickLog2((Math.max(0, red) + LITTLE) / (Math.max(0, blue) + LITTLE));
}

/** R / (R + B). */
export function redPart(warmth: number): number {
  return 2 ** warmth / (1 + 2 ** warmth);
}

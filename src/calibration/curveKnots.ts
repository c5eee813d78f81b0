import { CURVE_KNOTS } from './data/displayCurves.js';

/** Weighted sum of the two knots round a level, stops from white by sRGB: a curve is straight between them, and level under the first. */
export function betweenKnots(stops: number): readonly (readonly [knot: number, part: number])[] {
  if (stops <= CURVE_KNOTS[0]!) return [[0, 1]];
  let n = 0;
  while (n + 2 < CURVE_KNOTS.length && CURVE_KNOTS[n + 1]! < stops) n++;
  const part = Math.min(1, (stops - CURVE_KNOTS[n]!) / (CURVE_KNOTS[n + 1]! - CURVE_KNOTS[n]!));
  return [
    [n, 1 - part],
    [n + 1, part],
  ];
}

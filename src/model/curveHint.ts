/**
 * One equation that a frame gives for its display curve: the sum of `parts` times how far the light lies over what sRGB reads at each of the knots
 * of calibration/data/displayCurves (stops) is `value`, within `spread` (one standard deviation).
 */
export interface CurveHint {
  readonly parts: readonly number[];
  readonly value: number;
  readonly spread: number;
}

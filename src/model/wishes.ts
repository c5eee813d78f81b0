/** What the photographer wants and what the equipment allows. */
export interface Wishes {
  readonly skyTargetStops: number;
  readonly balanceTargetStops: number;
  readonly toleranceStops: number;
  readonly maxIso: number;
  /** Smallest f-number the lens has; `null` = not told, so the aperture is not opened beyond the frame's own. */
  readonly minAperture: number | null;
  readonly maxShutterSeconds: number;
  /** Overrides the trail allowed by the NPF rule. */
  readonly trailPxAllowed: number | null;
  /** How long the shutter is open before the painter stands in place and can begin, seconds. */
  readonly lateSeconds: number;
}

/** Sky -4 and paint +1.5 stops over it, tolerance 0.35: common practice, no source. */
export const DEFAULT_WISHES: Wishes = {
  skyTargetStops: -4,
  balanceTargetStops: 1.5,
  toleranceStops: 0.35,
  maxIso: 6400,
  minAperture: null,
  maxShutterSeconds: 30,
  trailPxAllowed: null,
  lateSeconds: 0,
};

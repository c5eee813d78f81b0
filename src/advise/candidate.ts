import type { Change } from '../model/reading.js';
import type { Wishes } from '../model/wishes.js';

/** A set of settings that could be dialled in, and what it would give. */
export interface Candidate {
  readonly changes: readonly Change[];
  readonly iso: number | null;
  readonly shutterSeconds: number | null;
  readonly aperture: number | null;
  readonly skyStops: number | null;
  readonly paintedStops: number | null;
  readonly clippedFraction: number | null;
  /** Painted area over that of now. */
  readonly paintedAreaRatio: number | null;
  readonly trailPx: number | null;
  /** Counted seconds of each held light whose count is known. */
  readonly counts: readonly number[];
  /** What each light's whole exposure is multiplied by, camera included. */
  readonly lampGains: readonly number[];
  readonly walks: number;
  /** Doublings or halvings of distance of the lamps that are moved, all together: what that does to the paint is the least sure. */
  readonly movedDoublings: number;
}

/** Sky and paint as measured or foretold. */
export interface Exposed {
  readonly skyStops: number | null;
  readonly paintedStops: number | null;
}

/** How far the sky is over its target, stops; null when there is no sky. */
export function skyMiss({ skyStops }: Exposed, wishes: Wishes): number | null {
  return skyStops === null ? null : skyStops - wishes.skyTargetStops;
}

/** How far the paint is over its balance with the sky, stops; null when either is missing. */
export function balanceMiss({ skyStops, paintedStops }: Exposed, wishes: Wishes): number | null {
  return skyStops === null || paintedStops === null ? null : paintedStops - skyStops - wishes.balanceTargetStops;
}

/** The miss is known and beyond the tolerance. */
export function isOff(miss: number | null, wishes: Wishes): miss is number {
  return miss !== null && Math.abs(miss) > wishes.toleranceStops;
}

/** Length that the stars will be measured with: rotation, and what is no rotation, add in squares. Null where rotation is not known. */
export function starLengthPx({ trailPx }: Candidate, otherBlurPx: number): number | null {
  return trailPx === null ? null : Math.hypot(trailPx, otherBlurPx);
}

/** Stars trail more than `times` what is allowed; never where either is not known. */
export function trailsOver({ trailPx }: Candidate, trailPxAllowed: number | null, times: number): boolean {
  return trailPxAllowed !== null && trailPx !== null && trailPx > times * trailPxAllowed;
}

import type { Change } from '../model/reading.js';

/** A set of settings that could be dialled in, and what it would give. */
export interface Candidate {
  readonly changes: readonly Change[];
  readonly iso: number | null;
  readonly shutterSeconds: number | null;
  readonly aperture: number | null;
  readonly skyStops: number | null;
  readonly paintedStops: number | null;
  readonly clippedFraction: number | null;
  readonly trailPx: number | null;
  /** Counted seconds of each held light whose count is known. */
  readonly counts: readonly number[];
  /** What each light's whole exposure is multiplied by, camera included. */
  readonly lampGains: readonly number[];
  readonly walks: number;
}

import type { Candidate } from '../candidate.js';
import type { Facts } from '../facts.js';

/** A wish with its price: how many stops of harm a candidate does to it. */
export interface Wish {
  readonly says: string;
  cost(candidate: Candidate): number;
}

/** A rule looks at the facts and states a wish, or has none. Its cost never falls as the cause gets worse. */
export interface Rule {
  readonly id: string;
  wish(facts: Facts): Wish | null;
}

/** Part of a tolerance that is used, and what a stop beyond that costs. */
export interface Band {
  readonly used: number;
  readonly beyond: number;
  /** Both under the wish, where that differs. */
  readonly below?: { readonly used: number; readonly beyond: number };
}

/** The edge of a tolerance is not used, since no reading is exact. */
export const BAND: Band = { used: 0.8, beyond: 8 };

/**
 * Inside the used part of the tolerance a miss costs six tenths of itself, beyond it much more: the band is there to be used.
 * What is aimed `above` the wish stretches the band so far, and is where nothing is missed.
 */
export function missCost(miss: number, tolerance: number, band: Band = BAND, above = 0): number {
  const below = band.below ?? band;
  const tooHigh = miss - Math.max(0, above) - band.used * tolerance;
  const tooLow = Math.min(0, above) - miss - below.used * tolerance;
  return 0.6 * Math.abs(miss - above) + Math.max(0, band.beyond * tooHigh, below.beyond * tooLow);
}

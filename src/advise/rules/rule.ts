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

/** So much of a tolerance is used: its edge is not, since no reading is exact. */
export const USED = 0.8;

/** Inside the used part of the tolerance a miss costs six tenths of itself, beyond it eight more stops a stop: the band is there to be used. */
export function missCost(miss: number, tolerance: number, used = USED): number {
  const size = Math.abs(miss);
  return 0.6 * size + 8 * Math.max(0, size - used * tolerance);
}

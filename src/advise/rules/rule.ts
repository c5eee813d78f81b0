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

/** One stop of miss costs one inside the tolerance and three more for each stop beyond it. */
export function missCost(miss: number, tolerance: number): number {
  const size = Math.abs(miss);
  return size + 3 * Math.max(0, size - tolerance);
}

import type { Rule } from './rule.js';

/** A person miscounts by about this much, whatever the count (common practice, no source). */
const MISCOUNT_SECONDS = 0.3;

/** Paint times that a person can count: the likely miscount in stops is the price; under a second it is trebled. */
export const countableTime: Rule = {
  id: 'countableTime',
  wish: () => ({
    says: 'a paint time that can be counted',
    cost: ({ counts }) => counts.reduce((sum, seconds) => sum + miscountStops(seconds) * (seconds < 1 ? 3 : 0.5), 0),
  }),
};

export function miscountStops(seconds: number): number {
  return Math.log2(1 + MISCOUNT_SECONDS / seconds);
}

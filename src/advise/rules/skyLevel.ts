import { skyMiss } from '../candidate.js';
import { aimsAbove } from '../aims.js';
import { missCost, USED, type Rule } from './rule.js';

/** The sky's background near its target. */
export const skyLevel: Rule = {
  id: 'skyLevel',
  wish: (facts) => {
    const { skyStops, wishes } = facts;
    if (skyStops === null) return null;
    const above = aimsAbove(facts).sky;
    return {
      says: 'the sky near its target',
      cost: (candidate) => missCost(skyMiss(candidate, wishes) ?? 0, wishes.toleranceStops, USED, above),
    };
  },
};

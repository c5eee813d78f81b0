import { skyMiss } from '../candidate.js';
import { missCost, type Rule } from './rule.js';

/** The sky's background near its target. */
export const skyLevel: Rule = {
  id: 'skyLevel',
  wish: ({ skyStops, wishes }) =>
    skyStops === null
      ? null
      : {
          says: 'the sky near its target',
          cost: (candidate) => missCost(skyMiss(candidate, wishes) ?? 0, wishes.toleranceStops),
        },
};

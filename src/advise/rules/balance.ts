import { balanceMiss } from '../candidate.js';
import { missCost, type Rule } from './rule.js';

/** What a miss of the balance costs over the same miss of the sky. */
const WEIGHT = 1.2;

/** Painted ground over sky as wished: the ratio that ISO and aperture cannot move. */
export const balance: Rule = {
  id: 'balance',
  wish: ({ skyStops, paintedStops, wishes }) =>
    skyStops === null || paintedStops === null
      ? null
      : {
          says: 'paint and sky in balance',
          cost: (candidate) => WEIGHT * missCost(balanceMiss(candidate, wishes) ?? 0, wishes.toleranceStops),
        },
};

import { balanceMiss } from '../candidate.js';
import { missCost, USED, type Rule } from './rule.js';

/** What a miss of the balance costs over the same miss of the sky. */
const WEIGHT = 1.2;

/** Painted ground over sky as wished: the ratio that ISO and aperture cannot move. */
export const balance: Rule = {
  id: 'balance',
  wish: ({ skyStops, paintedStops, wishes, levelUncertaintyStops }) =>
    skyStops === null || paintedStops === null
      ? null
      : {
          says: 'paint and sky in balance',
          cost: (candidate) =>
            WEIGHT *
            missCost(balanceMiss(candidate, wishes) ?? 0, wishes.toleranceStops, usedAt(levelUncertaintyStops)),
        },
};

/** A curve that is guessed stretches the ratio itself: the less is known of it, the less of the band is used. */
function usedAt(levelUncertaintyStops: number): number {
  return Math.max(0.3, USED - levelUncertaintyStops);
}

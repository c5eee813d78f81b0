import { aimsAbove } from '../aims.js';
import { balanceMiss } from '../candidate.js';
import { BAND, missCost, type Band, type Rule } from './rule.js';

/** What a miss of the balance costs over the same miss of the sky. */
const WEIGHT = 1.2;

/** Standard error of the paint foretold for a lamp at twice or half its distance, stops: the ground that it lights changes with it. */
const DOUBT_PER_DOUBLING = 0.5;

/** Painted ground over sky as wished: the ratio that ISO and aperture cannot move. */
export const balance: Rule = {
  id: 'balance',
  wish: (facts) => {
    const { skyStops, paintedStops, wishes, levelUncertaintyStops } = facts;
    if (skyStops === null || paintedStops === null) return null;
    const above = aimsAbove(facts).balance;
    const band = bandAt(levelUncertaintyStops);
    const at = (stops: number): number => missCost(stops, wishes.toleranceStops, band, above);
    return {
      says: 'paint and sky in balance',
      cost: (candidate) => {
        const miss = balanceMiss(candidate, wishes) ?? 0;
        const doubt = DOUBT_PER_DOUBLING * candidate.movedDoublings;
        return doubt === 0 ? WEIGHT * at(miss) : (WEIGHT * (at(miss - doubt) + 2 * at(miss) + at(miss + doubt))) / 4;
      },
    };
  },
};

/** A curve that is guessed stretches the ratio itself: the less is known of it, the less of the band is used. */
function bandAt(levelUncertaintyStops: number): Band {
  return { ...BAND, used: Math.max(0.3, BAND.used - levelUncertaintyStops) };
}

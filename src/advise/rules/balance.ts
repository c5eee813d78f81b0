import { missCost, type Rule } from './rule.js';

/** Painted ground over sky as wished: the ratio that ISO and aperture cannot move. */
export const balance: Rule = {
  id: 'balance',
  wish: ({ skyStops, paintedStops, wishes }) =>
    skyStops === null || paintedStops === null
      ? null
      : {
          says: 'paint and sky in balance',
          cost: (candidate) =>
            candidate.skyStops === null || candidate.paintedStops === null
              ? 0
              : 1.2 *
                missCost(
                  candidate.paintedStops - candidate.skyStops - wishes.balanceTargetStops,
                  wishes.toleranceStops,
                ),
        },
};

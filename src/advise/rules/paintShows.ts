import type { Rule } from './rule.js';

/** Paint may shrink to this part of its area before that is missed. */
const MAY_SHRINK_TO = 0.25;
const PER_HALVING = 0.5;

/** Paint that still shows: dimmed to the level of moonlit land, it drowns in it. */
export const paintShows: Rule = {
  id: 'paintShows',
  wish: ({ paintedStops }) =>
    paintedStops === null
      ? null
      : {
          says: 'paint that still shows',
          cost: ({ paintedAreaRatio }) =>
            PER_HALVING * Math.max(0, Math.log2(MAY_SHRINK_TO / Math.max(0.01, paintedAreaRatio ?? 1))),
        },
};

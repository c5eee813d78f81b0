import type { Rule } from './rule.js';

/** Painted fraction that may clip without being seen (common practice, no source). */
export const CLIPPED_PAINT_ALLOWED = 0.005;

/** Aim under what is allowed: the estimate beyond clipping is rough. */
const AIM = 0.003;

/** Under the aim a little room is liked, so that a forecast somewhat off still holds: what a doubling costs, and from where on. */
const ROOM = { from: 0.0008, perDoubling: 0.15 };
const OVER_PER_DOUBLING = 0.7;

/** No more than a trace of the paint clipped. */
export const headroom: Rule = {
  id: 'headroom',
  wish: ({ headroom: room }) =>
    room === null
      ? null
      : {
          says: 'paint not clipped',
          cost: ({ clippedFraction }) => {
            const doublings = (from: number): number =>
              Math.max(0, Math.log2(Math.max(1e-9, clippedFraction ?? 0) / from));
            const over = doublings(AIM);
            return ROOM.perDoubling * (doublings(ROOM.from) - over) + OVER_PER_DOUBLING * over;
          },
        },
};

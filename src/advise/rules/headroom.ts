import type { Rule } from './rule.js';

/** Painted fraction that may clip without being seen (common practice, no source). */
export const CLIPPED_PAINT_ALLOWED = 0.005;

/** Aim under what is allowed: the estimate beyond clipping is rough. Over the aim the first doubling, which leads past what is allowed, costs most. */
const AIM = 0.003;
const OVER = { perDoubling: 0.7, firstBesides: 1 };

/** Beyond this part a frame is burnt for anyone to see, and nothing brings that back, while dark paint can be lifted: so much more for each hundredth. */
const BURNT = { from: 0.04, perHundredth: 1.2 };

/** Under the aim a little room is liked, so that a forecast somewhat off still holds: what a doubling costs, and from where on. */
const ROOM = { from: 0.0015, perDoubling: 0.3 };

/** No more than a trace of the paint clipped. */
export const headroom: Rule = {
  id: 'headroom',
  wish: ({ headroom: room }) =>
    room === null
      ? null
      : {
          says: 'paint not clipped',
          cost: ({ clippedFraction }) => {
            const clipped = clippedFraction ?? 0;
            const doublings = (from: number): number => Math.max(0, Math.log2(Math.max(1e-9, clipped) / from));
            const over = doublings(AIM);
            return (
              ROOM.perDoubling * (doublings(ROOM.from) - over) +
              OVER.perDoubling * over +
              OVER.firstBesides * Math.min(1, over) +
              BURNT.perHundredth * 100 * Math.max(0, clipped - BURNT.from)
            );
          },
        },
};

import type { Rule } from './rule.js';

/** Painted fraction that may clip without being seen (common practice, no source). */
export const CLIPPED_PAINT_ALLOWED = 0.005;

/** Aim under what is allowed: the estimate beyond clipping is rough. */
const AIM = 0.003;

/** No more than a trace of the paint clipped: each doubling beyond costs seven tenths of a stop. */
export const headroom: Rule = {
  id: 'headroom',
  wish: ({ headroom: room }) =>
    room === null
      ? null
      : {
          says: 'paint not clipped',
          cost: ({ clippedFraction }) =>
            clippedFraction === null || clippedFraction <= AIM ? 0 : 0.7 * Math.log2(clippedFraction / AIM),
        },
};

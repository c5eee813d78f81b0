import type { Rule } from './rule.js';

/** Trails this many times the limit are on it, as near as they are measured. */
export const TRAIL_SLACK = 1.03;

/** Stars no longer than the limit: a shutter one stop over it costs nine tenths of a stop. */
export const trail: Rule = {
  id: 'trail',
  wish: ({ trailPxAllowed }) =>
    trailPxAllowed === null || trailPxAllowed <= 0
      ? null
      : {
          says: 'short star trails',
          cost: ({ trailPx }) =>
            trailPx === null || trailPx <= trailPxAllowed * TRAIL_SLACK ? 0 : 0.9 * Math.log2(trailPx / trailPxAllowed),
        },
};

import { nothingNoted } from '../facts.js';
import type { Rule } from './rule.js';
import { TRAIL_SLACK } from './trail.js';

/** A lamp that burnt through follows the shutter, a counted one does not: the balance is off by as much if it was the other one. */
const PER_STOP = 0.15;

/** Where no lamp was noted, ISO and aperture are the surer way: they move every light alike. Stars that trail shorten the shutter all the same. */
export const unnotedLamps: Rule = {
  id: 'unnotedLamps',
  wish: (facts) => {
    const { trailPx, trailPxAllowed } = facts;
    const now = facts.settings.shutterSeconds;
    if (now === null || facts.paintedStops === null || !nothingNoted(facts)) return null;
    const trails = trailPx !== null && trailPxAllowed !== null && trailPx > TRAIL_SLACK * trailPxAllowed;
    return {
      says: 'what is right for any lamp',
      cost: ({ shutterSeconds }) => {
        const longer = shutterSeconds === null ? 0 : Math.log2(shutterSeconds / now);
        return PER_STOP * Math.max(longer, trails ? 0 : -longer);
      },
    };
  },
};

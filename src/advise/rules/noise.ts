import type { Rule } from './rule.js';

/** ISO above this costs picture quality for nothing that a longer shutter or a wider lens could not give. */
const CALM_ISO = 1600;

/**
 * Grain is made by little light, not by ISO: taking shutter or opening away costs more than ISO gives back.
 */
export const noise: Rule = {
  id: 'noise',
  wish: ({ settings }) => ({
    says: 'little grain',
    cost: ({ iso, shutterSeconds, aperture }) => {
      const high = iso === null ? 0 : 0.12 * Math.max(0, Math.log2(iso / CALM_ISO));
      const less = (now: number | null, then: number | null): number =>
        now === null || then === null ? 0 : Math.max(0, Math.log2(now / then));
      const shorter = 0.1 * less(settings.shutterSeconds, shutterSeconds);
      const narrower = 0.2 * less(aperture, settings.aperture);
      return high + shorter + narrower;
    },
  }),
};

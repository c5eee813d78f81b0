import type { Rule } from './rule.js';

/** A stop between the changes of two lamps costs this, in stops. Where their light is not told apart the outcome is a guess besides. */
const PRICE = { apart: 0.5, mixed: 1.4 };

/** Several lamps keep their shares of the picture. */
export const lampProportion: Rule = {
  id: 'lampProportion',
  wish: ({ lights, lampLayers }) =>
    lights.length < 2
      ? null
      : {
          says: 'the lamps in proportion to each other',
          cost: ({ lampGains }) =>
            PRICE[lampLayers === null ? 'mixed' : 'apart'] *
            Math.max(0, Math.log2(Math.max(...lampGains) / Math.min(...lampGains)) - 0.1),
        },
};

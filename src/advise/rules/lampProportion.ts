import type { Rule } from './rule.js';

/** A stop between the changes of two lamps costs this, in stops. */
const PRICE = 0.5;

/** Several lamps keep their shares of the picture. */
export const lampProportion: Rule = {
  id: 'lampProportion',
  wish: ({ lights }) =>
    lights.length < 2
      ? null
      : {
          says: 'the lamps in proportion to each other',
          cost: ({ lampGains }) =>
            PRICE * Math.max(0, Math.log2(Math.max(...lampGains) / Math.min(...lampGains)) - 0.1),
        },
};

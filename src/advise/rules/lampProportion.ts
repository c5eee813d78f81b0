import type { Rule } from './rule.js';

/** Several lamps keep their shares of the picture: a stop between their changes costs half a stop. */
export const lampProportion: Rule = {
  id: 'lampProportion',
  wish: ({ lights }) =>
    lights.length < 2
      ? null
      : {
          says: 'the lamps in proportion to each other',
          cost: ({ lampGains }) => 0.5 * Math.max(0, Math.log2(Math.max(...lampGains) / Math.min(...lampGains)) - 0.1),
        },
};

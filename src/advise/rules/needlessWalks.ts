import type { Rule } from './rule.js';

/** A walk over rough ground in the dark costs more than any dial. */
export const needlessWalks: Rule = {
  id: 'needlessWalks',
  wish: () => ({ says: 'no needless walk', cost: ({ walks }) => 0.3 * walks }),
};

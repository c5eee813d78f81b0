import type { Rule } from './rule.js';

const PRICE = {
  iso: 0.06,
  shutter: 0.07,
  aperture: 0.14,
  paintTime: 0.05,
  lampPower: 0.08,
  lampDistance: 2,
} as const;

/** Each change beyond two; a lamp power that is no halving of full power, which few lamps have. */
const BEYOND_TWO = 0.12;
const ODD_POWER = 0.06;

/** One or two things at a time: each change can go wrong in the dark. */
export const fewestChanges: Rule = {
  id: 'fewestChanges',
  wish: () => ({
    says: 'few changes',
    cost: ({ changes }) => {
      const odd = changes.filter(
        ({ what, to }) => what === 'lampPower' && to !== null && !Number.isInteger(Math.log2(to)),
      );
      const many = Math.max(0, changes.length - 2) * BEYOND_TWO + odd.length * ODD_POWER;
      return changes.reduce((sum, change) => sum + PRICE[change.what], many);
    },
  }),
};

import type { Rule } from './rule.js';

const PRICE = {
  iso: 0.06,
  shutter: 0.07,
  aperture: 0.14,
  paintTime: 0.05,
  lampPower: 0.08,
  lampDistance: 1,
} as const;

/** One or two things at a time: each change can go wrong in the dark. */
export const fewestChanges: Rule = {
  id: 'fewestChanges',
  wish: () => ({
    says: 'few changes',
    cost: ({ changes }) => changes.reduce((sum, change) => sum + PRICE[change.what], 0),
  }),
};

import { miscountStops } from '../../calibration/hands.js';
import type { Rule } from './rule.js';

/** Paint times that a person can count: the likely miscount in stops is the price; under a second it is trebled. */
export const countableTime: Rule = {
  id: 'countableTime',
  wish: () => ({
    says: 'a paint time that can be counted',
    cost: ({ counts }) => counts.reduce((sum, seconds) => sum + miscountStops(seconds) * (seconds < 1 ? 3 : 0.5), 0),
  }),
};

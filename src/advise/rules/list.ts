import { balance } from './balance.js';
import { countableTime } from './countableTime.js';
import { fewestChanges } from './fewestChanges.js';
import { headroom } from './headroom.js';
import { lampProportion } from './lampProportion.js';
import { needlessWalks } from './needlessWalks.js';
import { noise } from './noise.js';
import { paintShows } from './paintShows.js';
import type { Rule } from './rule.js';
import { skyLevel } from './skyLevel.js';
import { trail } from './trail.js';

/** Every rule of advice. To add one, see docs/adding-a-rule.md. */
export const RULES: readonly Rule[] = [
  skyLevel,
  balance,
  headroom,
  paintShows,
  trail,
  noise,
  countableTime,
  lampProportion,
  needlessWalks,
  fewestChanges,
];

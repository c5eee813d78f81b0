import type { Option } from '../model/reading.js';

/** Shown wherever advice costs a walk. Sources: docs/safety.md (FAA AIM 8-1-6, NPS, CDC/NIOSH); the rest is common practice, no source. */
export const WALK_CAUTION =
  'Before you walk: headlamp on, over ground you learned by daylight, and someone knows where you are. Mind logs, holes, snakes, water and cliffs. ' +
  'Weight the stand. No lamp into eyes, traffic or wildlife; do not stare into lamps. Land rules and permits come first: some parks forbid light painting.';

/** The same, sentence by sentence, for pages. */
export const SAFETY_SENTENCES: readonly string[] = WALK_CAUTION.replace('Before you walk: headlamp', 'Headlamp').split(
  /(?<=\.) /,
);

/** For a night that is being planned; the same sources, and NC DOT and NHTSA on driving tired. */
export const PLAN_CAUTIONS =
  'Learn the ground by daylight: logs, holes, cliffs, water, snakes. Tell someone where you are and when you will be back, better go with a friend, and take two lights and spare batteries. ' +
  'Ask the land for its rules and permits first: some parks forbid light painting. Look up weather and fire bans, and the tide where there is water. ' +
  'Weight the stand; no lamp into eyes, traffic or wildlife, and do not stare into lamps. Drive rested: the hours from midnight to six are the worst.';

/** A walk to a lamp, or paint that only a stronger or nearer lamp can give. */
export function leadsIntoTheDark({ walks, says }: Option): boolean {
  return walks > 0 || says.includes('nearer lamp');
}

/** What is to be said under advice whose best option is this. */
export function cautionsFor(best: Option | undefined): string[] {
  return best !== undefined && leadsIntoTheDark(best) ? [WALK_CAUTION] : [];
}

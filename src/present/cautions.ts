/** Shown wherever advice costs a walk. Sources: docs/safety.md (FAA AIM 8-1-6, NPS, CDC/NIOSH); the rest is common practice, no source. */
export const WALK_CAUTION =
  'Before you walk: headlamp on, over ground you learned by daylight, and someone knows where you are. Mind logs, holes, snakes, water and cliffs. ' +
  'Weight the stand. No lamp into eyes, traffic or wildlife; do not stare into lamps. Land rules and permits come first: some parks forbid light painting.';

/** The same, sentence by sentence, for pages. */
export const SAFETY_SENTENCES: readonly string[] = WALK_CAUTION.replace('Before you walk: headlamp', 'Headlamp').split(
  /(?<=\.) /,
);

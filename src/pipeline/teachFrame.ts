import { triedOut } from '../advise/advise.js';
import type { LampLayers } from '../advise/facts.js';
import { measureColours } from '../measure/colours.js';
import type { Lessons } from '../model/lesson.js';
import type { Change, Light, Option, Reading } from '../model/reading.js';
import type { Wishes } from '../model/wishes.js';
import { teach } from '../teach/teach.js';
import { factsOf } from './factsOf.js';
import type { FrameResult } from './readOneFrame.js';

type Lit = Pick<FrameResult, 'reading' | 'widestAperture' | 'grid' | 'regions' | 'frame'>;

/** Said where remedies of single lamps rest on it. */
const EQUAL_PARTS =
  'From one frame nobody knows whose light is whose: the lamps count as equal parts of the paint. Other tries of the setup (--with) tell them apart.';

/** What a frame teaches. `apart`: what other frames of its setup tell of single lamps. */
export function teachFrame(
  { reading, widestAperture, grid, regions, frame }: Lit,
  lamps: readonly Light[],
  wishes: Wishes,
  apart: { readonly says: string; readonly layers: LampLayers | null } | null,
): Lessons {
  const facts = factsOf(reading, widestAperture, lamps, wishes, apart?.layers ?? null);
  const outcome = triedOut(facts);
  const findings = facts.damaged
    ? []
    : teach({
        reading,
        lights: facts.lights,
        wishes,
        colours: measureColours(grid, regions.mask, frame.balance),
        tryOut: (changes) => outcome(changes).predicted,
      });
  const doubt =
    reading.advice.verdict === 'unreadable'
      ? reading.advice.summary
      : (reading.warnings.find(({ code }) => code === 'uncertain-regions' || code === 'not-night')?.message ?? null);
  return {
    schema: 'paintstop.why/1',
    file: reading.file,
    findings,
    doubt,
    lamps: apart?.says ?? (facts.lights.length > 1 ? EQUAL_PARTS : null),
  };
}

/** The frame as other settings would have made it: an option of the photographer's own. */
export function whatIf(
  { reading, widestAperture }: Pick<FrameResult, 'reading' | 'widestAperture'>,
  lamps: readonly Light[],
  wishes: Wishes,
  changes: readonly Change[],
): Option {
  return triedOut(factsOf(reading, widestAperture, lamps, wishes))(changes);
}

/** The reading with that option in the place of its advice, for the preview. */
export function withOption(reading: Reading, option: Option): Reading {
  return { ...reading, advice: { ...reading.advice, options: [option] } };
}

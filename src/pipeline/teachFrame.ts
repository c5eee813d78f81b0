import { tryOut } from '../advise/advise.js';
import { measureColours } from '../measure/colours.js';
import type { Lessons } from '../model/lesson.js';
import type { Change, Light, Option, Reading } from '../model/reading.js';
import type { Wishes } from '../model/wishes.js';
import { teach } from '../teach/teach.js';
import { factsOf } from './factsOf.js';
import type { FrameResult } from './readOneFrame.js';

type Lit = Pick<FrameResult, 'reading' | 'widestAperture' | 'grid' | 'regions' | 'frame'>;

/** What a frame teaches. `lamps`: what other frames of its setup tell of single lamps, in words. */
export function teachFrame(
  { reading, widestAperture, grid, regions, frame }: Lit,
  lamps: readonly Light[],
  wishes: Wishes,
  apart: string | null,
): Lessons {
  const facts = factsOf(reading, widestAperture, lamps, wishes);
  const findings = teach({
    reading,
    lights: facts.lights,
    wishes,
    colours: measureColours(grid, regions.mask, frame.balance),
    tryOut: (changes) => tryOut(facts, changes).predicted,
  });
  const doubt =
    reading.advice.verdict === 'unreadable'
      ? reading.advice.summary
      : (reading.warnings.find(({ code }) => code === 'uncertain-regions' || code === 'not-night')?.message ?? null);
  return { schema: 'paintstop.why/1', file: reading.file, findings, doubt, lamps: apart };
}

/** The frame as other settings would have made it: an option of the photographer's own. */
export function whatIf(
  { reading, widestAperture }: Pick<FrameResult, 'reading' | 'widestAperture'>,
  lamps: readonly Light[],
  wishes: Wishes,
  changes: readonly Change[],
): Option {
  return tryOut(factsOf(reading, widestAperture, lamps, wishes), changes);
}

/** The reading with that option in the place of its advice, for the preview. */
export function withOption(reading: Reading, option: Option): Reading {
  return { ...reading, advice: { ...reading.advice, options: [option] } };
}

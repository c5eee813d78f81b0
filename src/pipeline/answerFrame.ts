import { advise } from '../advise/advise.js';
import type { Try } from '../advise/history.js';
import type { FrameRecord, SincePrevious } from '../model/night.js';
import type { Light, Reading } from '../model/reading.js';
import type { Wishes } from '../model/wishes.js';
import { groupFrames } from '../sequence/groupSetups.js';
import { withKick } from './assembleNight.js';
import { sincePrevious } from '../sequence/sincePrevious.js';
import { factsOf } from './factsOf.js';
import { doubtsOfNotes, NOTE_DOUBTS } from './notesInDoubt.js';
import { lampShares, lampsApart, layersForAdvice, type Tried } from './lampsApart.js';

export type { Try } from '../advise/history.js';

export interface FrameAnswer {
  readonly reading: Reading;
  /** Another framing than the frame before: its tries say nothing of this one. */
  readonly newSetup: boolean;
  readonly sincePrevious: SincePrevious | null;
}

/** A reading with its advice worked out anew. `seen`: the tries of its setup and itself, where their light is known. */
export function advisedAgain(
  { reading, widestAperture }: Pick<FrameRecord, 'reading' | 'widestAperture'>,
  lamps: readonly Light[],
  wishes: Wishes,
  tries: readonly Try[] = [],
  seen: readonly Tried[] = [],
): Reading {
  const { separation, kick, doubt } = lampsApart(seen);
  const map = seen.at(-1)?.map;
  const layers = separation === null || map === undefined ? null : layersForAdvice(separation, map);
  const facts = factsOf(reading, widestAperture, lamps, wishes, layers);
  const shares = map === undefined ? [] : lampShares(separation, map, reading.settings.widthPx);
  const noted = [...doubtsOfNotes(lamps, reading), ...(doubt === null ? [] : [doubt])];
  const others = reading.warnings.filter(({ code }) => !NOTE_DOUBTS.includes(code));
  const warnings = withKick([...others, ...noted], kick);
  const advised = { ...reading, warnings, lights: facts.lights, advice: advise(facts, tries) };
  return shares.length === 0 ? advised : { ...advised, lampShares: shares };
}

/** The advice for a frame that was read before, with the lamps it was shot by and what was tried in its setup. */
export function answerFrame(
  record: FrameRecord,
  lamps: readonly Light[],
  before: FrameRecord | null,
  tries: readonly Try[],
  wishes: Wishes,
  seen: readonly Tried[] = [],
): FrameAnswer {
  const now = before === null ? null : groupFrames([before, record])[1]!;
  const newSetup = now !== null && now.setup !== 1;
  const answered = advisedAgain(record, lamps, wishes, newSetup ? [] : tries, newSetup ? [] : seen);
  return {
    reading: { ...answered, warnings: withKick(answered.warnings, now?.kick ?? null) },
    newSetup,
    sincePrevious: before === null || newSetup ? null : sincePrevious(before, record),
  };
}

/** What later advice must know of this try. */
export function tryOf(reading: Reading, lamps: readonly Light[]): Try {
  const { iso, shutterSeconds, aperture } = reading.settings;
  return {
    iso,
    shutterSeconds,
    aperture,
    lights: lamps,
    balanced: reading.advice.verdict === 'balanced',
    advised: reading.advice.options[0] ?? null,
  };
}

import type { Happening } from '../../lamps/evening.js';
import type { JournalLine } from '../../machine/journal.js';
import type { Light } from '../../model/reading.js';
import { tryOf, type FrameAnswer, type Try } from '../../pipeline/answerFrame.js';
import type { TryShown } from '../../present/watch/watchScreen.js';

/** A frame that was answered, as the journal keeps it. */
export interface KeptTry {
  readonly mark: string;
  readonly takenAt: string | null;
  readonly settings: Try;
  readonly shown: TryShown;
}

export interface WatchLine extends JournalLine {
  readonly happening: Happening;
  /** With an answer. */
  readonly kept?: KeptTry;
  /** What was typed. */
  readonly text?: string;
}

/** A line that this program wrote; one that a dead battery cut, or anything else, is none. */
export function isWatchLine(value: unknown): value is WatchLine {
  const line = value as Partial<WatchLine> | null;
  const happening = line?.happening as Partial<Extract<Happening, { kind: 'note' }>> | { kind?: string } | undefined;
  if (typeof line?.at !== 'string' || happening === undefined) return false;
  if (happening.kind === 'undo') return true;
  if (happening.kind === 'note') return 'settings' in happening && Array.isArray(happening.settings);
  return happening.kind === 'answer' && line.kept !== undefined;
}

export function keptOf({ reading, newSetup }: FrameAnswer, lamps: readonly Light[], mark: string): KeptTry {
  const { balance, regions, settings, file, advice } = reading;
  const sky = regions.sky.levelStops;
  return {
    mark,
    takenAt: settings.takenAt,
    settings: tryOf(reading, lamps),
    shown: {
      file,
      skyMissStops: sky === null ? null : round(sky - balance.skyShownTargetStops),
      balanceMissStops: balance.stops === null ? null : round(balance.stops - balance.targetStops),
      balanced: advice.verdict === 'balanced',
      newSetup,
    },
  };
}

function round(value: number): number {
  return Number(value.toFixed(2));
}

import type { Light } from '../model/reading.js';
import { applySetting, type LampSetting } from './setting.js';

/** What happened, in order. The journal keeps these. */
export type Happening =
  | {
      readonly kind: 'note';
      /** The frame that was shot so; null: from the next frame on. */
      readonly frame: string | null;
      readonly settings: readonly LampSetting[];
      readonly added: Light | null;
    }
  | { readonly kind: 'undo' }
  | { readonly kind: 'answer'; readonly file: string };

/** The lamps of a frame, and the names of those whose setting was noted since the frame before; the others are assumed. */
interface LampsThen {
  readonly lamps: readonly Light[];
  readonly noted: readonly string[];
}

export interface Evening {
  /** As the next frame will be taken to be shot. */
  readonly next: LampsThen;
  readonly frames: ReadonlyMap<string, LampsThen>;
  /** Something is there to undo. */
  readonly undoable: boolean;
}

/** Plays what happened over the lamps that the evening began with. */
export function playEvening(start: readonly Light[], happenings: readonly Happening[]): Evening {
  const frames = new Map<string, LampsThen>();
  let next: LampsThen = { lamps: start, noted: [] };
  let notes = 0;
  for (const happening of withoutUndone(happenings)) {
    if (happening.kind === 'answer') {
      frames.set(happening.file, next);
      next = { lamps: next.lamps, noted: [] };
    } else {
      notes++;
      const then = happening.frame === null ? undefined : frames.get(happening.frame);
      if (happening.frame !== null && then !== undefined) frames.set(happening.frame, noted(then, happening));
      // What was noted of the next frame since then is newer.
      const older = happening.settings.filter(({ lamp }) => happening.frame === null || !next.noted.includes(lamp));
      const after = noted(next, { ...happening, settings: older });
      next = happening.frame === null ? after : { lamps: after.lamps, noted: next.noted };
    }
  }
  return { next, frames, undoable: notes > 0 };
}

type NoteMade = Extract<Happening, { kind: 'note' }>;

function noted(then: LampsThen, { settings, added }: NoteMade): LampsThen {
  const known = added === null || then.lamps.some(({ name }) => name === added.name);
  const lamps = settings.reduce(applySetting, known ? then.lamps : [...then.lamps, added]);
  return { lamps, noted: [...new Set([...then.noted, ...settings.map(({ lamp }) => lamp)])] };
}

/** What still stands: each undo takes away the last note before it that is still there. */
export function withoutUndone(happenings: readonly Happening[]): Exclude<Happening, { kind: 'undo' }>[] {
  const left: Exclude<Happening, { kind: 'undo' }>[] = [];
  for (const happening of happenings) {
    if (happening.kind !== 'undo') left.push(happening);
    else {
      const last = left.findLastIndex(({ kind }) => kind === 'note');
      if (last >= 0) left.splice(last, 1);
    }
  }
  return left;
}

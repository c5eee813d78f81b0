import { playEvening, type Evening, type Happening } from '../../lamps/evening.js';
import { readNote } from '../../lamps/notes.js';
import type { LampSetting } from '../../lamps/setting.js';
import type { FrameRecord } from '../../model/night.js';
import type { Light, Option, Reading } from '../../model/reading.js';
import type { Wishes } from '../../model/wishes.js';
import type { LightMap } from '../../model/lightMap.js';
import { answerFrame, type FrameAnswer } from '../../pipeline/answerFrame.js';
import { isAsAdvised } from '../../pipeline/notesInDoubt.js';
import type { Tried } from '../../pipeline/foretellFrame.js';
import { lampInWords } from '../../present/watch/lampWords.js';
import type { FrameShown, TryShown } from '../../present/watch/watchScreen.js';
import { keptOf, type KeptTry, type WatchLine } from './watchLine.js';

export interface Answer extends FrameAnswer {
  readonly predicted: Option['predicted'] | null;
}

/** Tries that are looked back on, and records of frames kept to compare with. */
const TRIES_KEPT = 40;
const RECORDS_KEPT = 8;

/** The evening at the tripod: which lamps, which tries, what was advised. Every change is in the journal before it counts. */
export class Vigil {
  private readonly happenings: Happening[] = [];
  private readonly tries: KeptTry[] = [];
  private readonly records: { record: FrameRecord; mark: string; map: LightMap | null }[] = [];
  private evening: Evening;
  private latest: { record: FrameRecord; mark: string; map: LightMap | null; answer: Answer } | null = null;
  private typing: Promise<unknown> = Promise.resolve();
  says: string | null = null;
  help = false;

  constructor(
    private readonly start: readonly Light[],
    private readonly wishes: Wishes,
    earlier: readonly WatchLine[],
    private readonly keep: (line: WatchLine) => Promise<void>,
    private readonly now: () => Date,
  ) {
    for (const { happening, kept } of earlier) {
      this.happenings.push(happening);
      if (kept !== undefined) this.tries.push(kept);
    }
    this.evening = playEvening(start, this.happenings);
  }

  /** Marks of the frames answered so far, in this run or before it. */
  get marks(): string[] {
    return this.happenings.flatMap((own) => (own.kind === 'answer' ? [own.file] : []));
  }

  get nextLamps(): Evening['next'] {
    return this.evening.next;
  }

  get triesShown(): readonly TryShown[] {
    return this.tries.map(({ shown }) => shown);
  }

  /** The newest frame by its own clock. */
  get frame(): FrameShown | null {
    if (this.latest === null) return null;
    const { answer, mark } = this.latest;
    const then = this.evening.frames.get(mark);
    return {
      reading: answer.reading,
      lamps: then?.lamps ?? [],
      noted: then?.noted ?? [],
      sincePrevious: answer.sincePrevious,
      foretold: answer.predicted,
    };
  }

  /** The lamps that the next frame is taken to be shot by; another setting may have been advised, and done without a note. */
  get next(): { readonly lamps: readonly Light[]; readonly mayDiffer: boolean } {
    const { lamps, noted } = this.evening.next;
    const advised = this.latest?.answer.reading.advice.options[0]?.changes ?? [];
    return { lamps, mayDiffer: noted.length === 0 && advised.some(({ light }) => light !== undefined) };
  }

  /** The last frame of the run before: what comes next is compared with it. */
  remember(record: FrameRecord): void {
    this.records.push({ record, mark: this.marks.at(-1) ?? '', map: null });
  }

  /** A frame has been read: its answer, and whether it is the newest. */
  async answer(record: FrameRecord, mark: string, map: LightMap | null): Promise<Answer> {
    const lamps = this.evening.next.lamps;
    const answer = this.work(record, lamps, map);
    const kept = keptOf(answer, lamps, mark);
    const happening: Happening = { kind: 'answer', file: mark };
    const isKept = await this.keep({ at: this.now().toISOString(), happening, kept }).then(
      () => true,
      () => false,
    );
    this.happenings.push(happening);
    this.place(kept);
    this.records.push({ record, mark, map });
    this.records.sort((a, b) => byTime(a.record.reading, b.record.reading));
    if (this.records.length > RECORDS_KEPT) this.records.shift();
    this.evening = playEvening(this.start, this.happenings);
    if (this.latest === null || byTime(record.reading, this.latest.record.reading) >= 0)
      this.latest = { record, mark, map, answer };
    this.says = isKept
      ? this.doubt(answer)
      : 'The journal cannot be written (is the disk full?): this frame is forgotten at the end.';
    this.help = false;
    return answer;
  }

  /** A line was typed; lines are taken one after the other. Returns `quit` when that was asked for. */
  type(line: string): Promise<'quit' | 'stay'> {
    const taken = this.typing.then(() => this.take(line));
    this.typing = taken.catch(() => undefined);
    return taken.catch((): 'stay' => {
      this.says = 'The note could not be kept (is the disk full?): it does not count.';
      return 'stay';
    });
  }

  private async take(line: string): Promise<'quit' | 'stay'> {
    this.help = false;
    this.says = null;
    if (line.trim() === '') return 'stay';
    const note = readNote(line, this.evening.next.lamps);
    switch (note.kind) {
      case 'quit':
        return 'quit';
      case 'help':
        this.help = true;
        break;
      case 'unclear':
        this.says = note.says;
        break;
      case 'undo':
        await this.undo();
        break;
      case 'done':
        await this.done(note.frame, note.option, line);
        break;
      case 'set':
        await this.note(note.frame, [note.setting], note.added, line);
    }
    return 'stay';
  }

  private async undo(): Promise<void> {
    if (!this.evening.undoable) {
      this.says = 'nothing to take back';
      return;
    }
    await this.happened({ kind: 'undo' }, 'undo');
    this.says = 'taken back';
  }

  /** The lamps were set as an option said: the one on the screen, or, for the frame on the screen, the one before it. */
  private async done(frame: 'last' | 'next', number: number, line: string): Promise<void> {
    const before = frame === 'next' ? this.latest?.answer.reading.advice.options : this.optionsBefore();
    const option = before?.[number - 1];
    if (option === undefined) {
      this.says = before === undefined ? 'nothing was advised before it' : `there was no option ${String(number)}`;
      return;
    }
    const known = this.evening.next.lamps;
    const settings = option.changes.flatMap(({ what, light, to }): LampSetting[] => {
      if (light === undefined || to === null || !known.some(({ name }) => name === light)) return [];
      const figure = { paintTime: 'seconds', lampPower: 'power', lampDistance: 'distanceM' }[what as 'paintTime'];
      return [{ lamp: light, [figure]: to }];
    });
    if (settings.length === 0) {
      this.says = 'that changes no lamp whose figures are known; the camera tells the rest itself';
      return;
    }
    await this.note(frame, settings, null, line);
  }

  /** What was advised before the frame on the screen. */
  private optionsBefore(): readonly Option[] | undefined {
    const at = this.tries.findIndex(({ mark }) => mark === this.latest?.mark);
    const advised = at > 0 ? this.tries[at - 1]!.settings.advised : null;
    return advised === null ? undefined : [advised];
  }

  private async note(
    frame: 'last' | 'next',
    settings: readonly LampSetting[],
    added: Light | null,
    line: string,
  ): Promise<void> {
    if (frame === 'last' && this.latest === null) {
      this.says = 'no frame is on the screen yet; without "was" the note is for the next one';
      return;
    }
    const mark = frame === 'last' ? this.latest!.mark : null;
    await this.happened({ kind: 'note', frame: mark, settings, added }, line);
    const then = mark === null ? this.evening.next : this.evening.frames.get(mark);
    const touched = (then?.lamps ?? []).filter(({ name }) => settings.some(({ lamp }) => lamp === name));
    this.says = `noted, ${mark === null ? 'from the next frame on' : 'for the frame on the screen'}: ${touched.map((lamp) => lampInWords(lamp, true)).join(', ')}`;
  }

  private async happened(happening: Happening, text: string): Promise<void> {
    await this.keep({ at: this.now().toISOString(), happening, text });
    this.happenings.push(happening);
    this.evening = playEvening(this.start, this.happenings);
    if (this.latest === null) return;
    // The lamps of the frame on the screen may be others now, and so may its advice.
    const { record, mark, map } = this.latest;
    const lamps = this.evening.frames.get(mark)?.lamps ?? [];
    const at = this.tries.findIndex((own) => own.mark === mark);
    const answer = this.work(record, lamps, map, at < 0 ? undefined : this.tries.slice(0, at), mark);
    this.latest = { record, mark, map, answer };
    if (at >= 0) this.tries[at] = keptOf(answer, lamps, mark);
  }

  private work(
    record: FrameRecord,
    lamps: readonly Light[],
    map: LightMap | null,
    tries: readonly KeptTry[] = this.tries.filter(({ takenAt }) => !isLater(takenAt, record.reading)),
    own = '',
  ): Answer {
    const before = this.records.findLast(
      ({ record: other, mark }) => mark !== own && byTime(other.reading, record.reading) <= 0,
    );
    const sinceSetup = tries.slice(
      Math.max(
        0,
        tries.findLastIndex(({ shown }) => shown.newSetup),
      ),
    );
    const earlier = sinceSetup.map(({ settings }) => settings);
    const seen = this.seenBefore(record, own, map, lamps);
    const answer = answerFrame(record, lamps, before?.record ?? null, earlier, this.wishes, seen);
    const advised = answer.newSetup ? null : (tries.at(-1)?.settings.advised ?? null);
    return {
      ...answer,
      predicted: advised !== null && isAsAdvised(advised, answer.reading) ? advised.predicted : null,
    };
  }

  /** Tries whose light is still at hand, with the lamps that each was shot by, and this frame as the last. */
  private seenBefore(record: FrameRecord, own: string, map: LightMap | null, lamps: readonly Light[]): Tried[] {
    if (map === null) return [];
    const before = this.records.flatMap((other): Tried[] => {
      const then = this.evening.frames.get(other.mark)?.lamps;
      if (other.mark === own || other.map === null || then === undefined) return [];
      if (byTime(other.record.reading, record.reading) > 0) return [];
      return [{ record: { ...other.record, reading: { ...other.record.reading, lights: then } }, map: other.map }];
    });
    return [...before, { record: { ...record, reading: { ...record.reading, lights: lamps } }, map }];
  }

  private place(kept: KeptTry): void {
    this.tries.push(kept);
    this.tries.sort((a, b) => (a.takenAt === null || b.takenAt === null ? 0 : compare(a.takenAt, b.takenAt)));
    if (this.tries.length > TRIES_KEPT) this.tries.shift();
  }

  /** Lamps are assumed as they were, and the light says otherwise. */
  private doubt({ sincePrevious, reading }: Answer): string | null {
    const ratio = sincePrevious?.paintRatio ?? null;
    const noted = this.frame?.noted ?? [];
    if (ratio === null || noted.length > 0 || reading.lights.every(({ name }) => name === 'paint')) return null;
    const uncertainty = sincePrevious!.paintRatioUncertaintyStops ?? 0.3;
    if (Math.abs(Math.log2(ratio)) < Math.max(0.35, 2 * uncertainty)) return null;
    const held = reading.lights.find(({ kind }) => kind === 'held')?.name ?? reading.lights[0]!.name;
    const advised = this.optionsBefore()?.[0]?.changes.some(({ light }) => light !== undefined) === true;
    return `The paint has ${ratio.toFixed(2)} of the light of the frame before, and no change was noted. ${advised ? 'As advised? Type: was done. Else, like' : 'Type what it was, like'}: was ${held} 2.`;
  }
}

/** By the camera's clock; frames without one stay in the order in which they came. */
function byTime(a: Reading, b: Reading): number {
  const [one, other] = [a.settings.takenAt, b.settings.takenAt];
  return one === null || other === null ? 0 : compare(one, other);
}

function isLater(takenAt: string | null, { settings }: Reading): boolean {
  return takenAt !== null && settings.takenAt !== null && compare(takenAt, settings.takenAt) > 0;
}

function compare(a: string, b: string): number {
  return a < b ? -1 : a > b ? 1 : 0;
}

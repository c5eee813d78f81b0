import { readdir, stat } from 'node:fs/promises';
import { basename, dirname, extname, join } from 'node:path';
import { isFrameName } from './gather.js';
import { halfOf, stemOf, type FrameFile } from './pairs.js';

/** How reading an arrived frame ended. */
export type Outcome = 'done' | 'part' | 'gone' | 'raw-failed';

export interface ArrivalTools {
  /** Reads a frame that seems whole. `patient`: it has kept its size for long. */
  read(frame: FrameFile, patient: boolean): Promise<Outcome>;
  /** A file has stopped growing and is not whole. */
  stuck(path: string): void;
  /** The other half of a frame came after its answer. */
  late(path: string): void;
  now(): number;
}

interface Facts {
  readonly size: number;
  readonly mtimeMs: number;
}

/** One press of the shutter: its files, until it is answered. */
interface Shot {
  readonly files: Map<string, Facts>;
  /** When it may be tried, and since when its files are as they are. */
  due: number;
  since: number;
  toldStuck: boolean;
  /** The raw half cannot be read. */
  rawFailed: boolean;
}

/** Waits for the other half of a shot, ms: not known yet whether there are pairs; there are none; there are. */
const FIRST_WAIT = 600;
const LONE_WAIT = 200;
const PAIR_WAIT = 15_000;

/** Another try at a file that was not whole, ms; and when it is said to be stuck, and taken for whole if that is all one can tell. */
const AGAIN = 400;
const STUCK = 30_000;
const PATIENT = 4000;

/** So many frames in a row without their other half, and no pairs are expected any more. */
const LONE_IN_A_ROW = 2;

/**
 * What has arrived and is not answered: pairs are brought together, files that are still being copied are waited for, of several the newest
 * is read first. Every whole frame is read once.
 */
export class Arrivals {
  private readonly known = new Map<string, Facts>();
  private readonly answered = new Map<string, Set<string>>();
  private readonly shots = new Map<string, Shot>();
  private pairsExpected: boolean | null = null;
  private loneInARow = 0;
  private busy = false;
  private timer: NodeJS.Timeout | null = null;
  private closed = false;

  constructor(private readonly tools: ArrivalTools) {}

  /** Frames that wait to be read. */
  get waiting(): number {
    return this.shots.size;
  }

  /** A file that was there before the watch began: no work. */
  rememberOld(path: string, facts: Facts): void {
    this.known.set(path, facts);
    const key = keyOf(path);
    const together = this.answered.get(key) ?? new Set<string>();
    together.add(path);
    this.answered.set(key, together);
    if (new Set([...together].map(halfOf)).size > 1) this.pairsExpected = true;
  }

  /** A file that is there; `returned`: with a card that was put back, where times may read otherwise. */
  seen(path: string, facts: Facts, returned: boolean): void {
    const before = this.known.get(path);
    if (before?.size === facts.size && (returned || before.mtimeMs === facts.mtimeMs)) return;
    const key = keyOf(path);
    const together = this.answered.get(key);
    if (together !== undefined && before === undefined && !this.shots.has(key)) {
      this.remember(key, path, facts);
      this.pairsExpected = true;
      this.tools.late(path);
      return;
    }
    const now = this.tools.now();
    const shot = this.shots.get(key) ?? {
      files: new Map<string, Facts>(),
      due: 0,
      since: now,
      toldStuck: false,
      rawFailed: false,
    };
    shot.files.set(path, facts);
    shot.since = now;
    shot.toldStuck = false;
    shot.due = now + (this.isComplete(shot) ? 0 : this.patience());
    this.shots.set(key, shot);
    this.wake();
  }

  gone(path: string): void {
    const key = keyOf(path);
    const shot = this.shots.get(key);
    shot?.files.delete(path);
    if (shot?.files.size === 0) this.shots.delete(key);
    const together = this.answered.get(key);
    together?.delete(path);
    if (together?.size === 0) this.answered.delete(key);
  }

  close(): void {
    this.closed = true;
    if (this.timer !== null) clearTimeout(this.timer);
  }

  private remember(key: string, path: string, facts: Facts): void {
    this.known.set(path, facts);
    this.answered.set(key, (this.answered.get(key) ?? new Set<string>()).add(path));
  }

  private patience(): number {
    if (this.pairsExpected === null) return FIRST_WAIT;
    return this.pairsExpected ? PAIR_WAIT : LONE_WAIT;
  }

  private isComplete({ files }: Shot): boolean {
    const halves = new Set([...files.keys()].map(halfOf));
    return halves.has(null) || halves.size > 1;
  }

  private wake(): void {
    if (this.closed || this.busy || this.shots.size === 0) return;
    if (this.timer !== null) clearTimeout(this.timer);
    const next = Math.min(...[...this.shots.values()].map(({ due }) => due));
    this.timer = setTimeout(() => void this.work(), Math.max(0, next - this.tools.now()));
  }

  private async work(): Promise<void> {
    if (this.busy) return;
    this.busy = true;
    try {
      const now = this.tools.now();
      const due = [...this.shots].filter(([, shot]) => shot.due <= now);
      due.sort(([a, one], [b, other]) => newest(other) - newest(one) || (a < b ? 1 : -1));
      if (due[0] !== undefined) await this.tryShot(due[0][0], due[0][1]);
    } finally {
      this.busy = false;
      this.wake();
    }
  }

  private async tryShot(key: string, shot: Shot): Promise<void> {
    const { tools } = this;
    if (!this.isComplete(shot) && (await this.otherHalfComes(shot))) {
      shot.due = tools.now() + AGAIN;
      return;
    }
    const raw = shot.rawFailed ? undefined : [...shot.files.keys()].find((path) => halfOf(path) === 'raw');
    const jpeg = [...shot.files.keys()].find((path) => halfOf(path) === 'jpeg');
    const first = raw ?? jpeg ?? [...shot.files.keys()][0];
    if (first === undefined) return;
    const before = new Map(shot.files);
    const frame = { file: first, jpeg: raw !== undefined && jpeg !== undefined ? jpeg : null };
    const outcome = await tools.read(frame, tools.now() - shot.since > PATIENT);
    if (this.shots.get(key) !== shot) return;
    if (outcome === 'part' || outcome === 'gone') {
      await this.askAgain(shot);
      return;
    }
    if (outcome === 'raw-failed' && frame.jpeg !== null) {
      shot.rawFailed = true;
      shot.due = tools.now();
      return;
    }
    this.shots.delete(key);
    for (const [path, facts] of before) this.remember(key, path, facts);
    // What changed while it was read is new again, unless its content is the same.
    for (const [path, facts] of shot.files) if (before.get(path) !== facts) this.seen(path, facts, false);
    this.learn(before.size > 1, halfOf(first) !== null);
  }

  private learn(wasPair: boolean, couldBe: boolean): void {
    if (!couldBe) return;
    this.loneInARow = wasPair ? 0 : this.loneInARow + 1;
    if (wasPair) this.pairsExpected = true;
    else if (this.pairsExpected !== true || this.loneInARow >= LONE_IN_A_ROW) this.pairsExpected = false;
  }

  /** The other half lies there already, and still grows. */
  private async otherHalfComes(shot: Shot): Promise<boolean> {
    const [path] = shot.files.keys();
    if (path === undefined || this.tools.now() - shot.since > STUCK) return false;
    const names = await readdir(dirname(path)).catch(() => []);
    const other = names.some(
      (name) =>
        name !== basename(path) &&
        stemOf(name) === stemOf(path) &&
        extname(name) !== '' &&
        halfOf(name) !== null &&
        halfOf(name) !== halfOf(path) &&
        isFrameName(name),
    );
    return other;
  }

  /** Not whole: tried again when it has changed, else now and then; said once when it has stopped. */
  private async askAgain(shot: Shot): Promise<void> {
    const now = this.tools.now();
    for (const [path, facts] of shot.files) {
      const fresh = await stat(path).catch(() => null);
      if (fresh !== null && (fresh.size !== facts.size || fresh.mtimeMs !== facts.mtimeMs)) {
        shot.files.set(path, { size: fresh.size, mtimeMs: fresh.mtimeMs });
        shot.since = now;
        shot.toldStuck = false;
      }
      if (fresh === null) this.gone(path);
    }
    const still = now - shot.since;
    if (still > STUCK && !shot.toldStuck) {
      shot.toldStuck = true;
      const [path] = shot.files.keys();
      if (path !== undefined) this.tools.stuck(path);
    }
    // One that does not grow is asked ever less often.
    shot.due = now + Math.max(AGAIN, Math.min(10_000, still / 3));
  }
}

/** Frames of one key are one shot: the two halves of a pair share it. */
function keyOf(path: string): string {
  return join(dirname(path), halfOf(path) === null ? basename(path).toLowerCase() : stemOf(path));
}

function newest({ files }: Shot): number {
  return Math.max(...[...files.values()].map(({ mtimeMs }) => mtimeMs));
}

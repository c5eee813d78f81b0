import { createHash } from 'node:crypto';
import { constants } from 'node:fs';
import { open, readdir, readFile, realpath, type FileHandle } from 'node:fs/promises';
import { homedir, platform } from 'node:os';
import { basename, join } from 'node:path';
import { gunzipSync, gzipSync } from 'node:zlib';
import { makeFolder, replaceFile } from './files.js';

/** The operating system's folder for what a program remembers (XDG Base Directory 0.8; the customs of macOS and Windows). */
export function stateFolder(environment: NodeJS.ProcessEnv = process.env): string {
  const own = environment['XDG_STATE_HOME'];
  if (own) return join(own, 'paintstop');
  if (platform() === 'darwin') return join(homedir(), 'Library', 'Application Support', 'paintstop');
  const windows = environment['LOCALAPPDATA'];
  return windows ? join(windows, 'paintstop', 'state') : join(homedir(), '.local', 'state', 'paintstop');
}

/** An evening that paused longer than this is over. */
const EVENING_HOURS = 12;

/** One line of a journal: when, and what. */
export interface JournalLine {
  readonly at: string;
}

export interface Journal<Line extends JournalLine> {
  readonly path: string;
  /** What the evening held already. */
  readonly lines: readonly Line[];
  /** On the disk when it returns (fsync). */
  append(line: Line): Promise<void>;
  /** One value beside the lines, always the last one given; null when there is none that can be read. Losing it is no failure. */
  keepLast(value: unknown): Promise<void>;
  lastKept(): Promise<unknown>;
  close(): Promise<void>;
}

/**
 * The journal of an evening at a folder: JSON lines outside the folder. One that was written to in the last hours is gone on with, unless a
 * fresh one is asked for. Throws where nothing can be written.
 */
export async function openJournal<Line extends JournalLine>(
  state: string,
  watched: string,
  now: Date,
  fresh: boolean,
  isLine: (value: unknown) => value is Line,
): Promise<Journal<Line>> {
  const folder = join(state, 'journals');
  await makeFolder(folder);
  const prefix = await prefixOf(watched);
  const last = fresh ? null : await lastJournal(folder, prefix, isLine);
  const goesOn = last !== null && now.getTime() - last.endedMs < EVENING_HOURS * 3_600_000;
  const stamp = now.toISOString().replace(/\D/g, '').slice(0, 14);
  const path = goesOn ? last.path : join(folder, `${prefix}-${stamp}.jsonl`);
  const handle = await open(path, constants.O_WRONLY | constants.O_APPEND | constants.O_CREAT, 0o600);
  // A line that was cut by a dead battery must not swallow the next one.
  if (goesOn && !last.endsWhole) await handle.appendFile('\n');
  let queue: Promise<void> = Promise.resolve();
  return {
    path,
    lines: goesOn ? last.lines : [],
    append: (line) => {
      queue = queue.catch(() => undefined).then(() => write(handle, line));
      return queue;
    },
    keepLast: (value) =>
      replaceFile(`${path}.last`, gzipSync(JSON.stringify(value), { level: 4 })).catch(() => undefined),
    lastKept: async () => {
      try {
        return JSON.parse(gunzipSync(await readFile(`${path}.last`)).toString('utf8')) as unknown;
      } catch {
        return null;
      }
    },
    close: async () => {
      await queue.catch(() => undefined);
      await handle.close();
    },
  };
}

/** The newest journal of a folder, or null. */
export async function readJournal<Line extends JournalLine>(
  state: string,
  watched: string,
  isLine: (value: unknown) => value is Line,
): Promise<{ path: string; lines: readonly Line[] } | null> {
  return lastJournal(join(state, 'journals'), await prefixOf(watched), isLine);
}

async function write(handle: FileHandle, line: JournalLine): Promise<void> {
  await handle.appendFile(`${JSON.stringify(line)}\n`);
  await handle.sync();
}

async function prefixOf(watched: string): Promise<string> {
  const real = await realpath(watched).catch(() => watched);
  const name =
    basename(real)
      .replace(/[^\p{L}\p{N}_-]/gu, '_')
      .slice(0, 40) || 'folder';
  return `${name}-${createHash('sha256').update(real).digest('hex').slice(0, 8)}`;
}

interface Last<Line> {
  readonly path: string;
  readonly lines: readonly Line[];
  readonly endedMs: number;
  readonly endsWhole: boolean;
}

async function lastJournal<Line extends JournalLine>(
  folder: string,
  prefix: string,
  isLine: (value: unknown) => value is Line,
): Promise<Last<Line> | null> {
  const names = (await readdir(folder).catch(() => [])).filter(
    (name) => name.startsWith(`${prefix}-`) && name.endsWith('.jsonl'),
  );
  const name = names.sort().at(-1);
  if (name === undefined) return null;
  const path = join(folder, name);
  const text = await readFile(path, 'utf8').catch(() => '');
  const lines = text.split('\n').flatMap((line): Line[] => {
    try {
      const parsed: unknown = JSON.parse(line);
      return isLine(parsed) ? [parsed] : [];
    } catch {
      return [];
    }
  });
  const ended = Date.parse(lines.at(-1)?.at ?? '');
  return { path, lines, endedMs: Number.isNaN(ended) ? 0 : ended, endsWhole: text === '' || text.endsWith('\n') };
}

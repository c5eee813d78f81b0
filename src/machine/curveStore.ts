import { mkdir, readFile, stat } from 'node:fs/promises';
import { homedir } from 'node:os';
import { join } from 'node:path';
import { withRecords, type CurveBin, type CurveRecord } from '../pipeline/cameraCurve.js';
import { replaceFile } from './files.js';

const NAME = 'curves.json';
const SCHEMA = 'paintstop.curves/1';
const MOST_RECORDS = 200;

interface Stored {
  readonly schema: string;
  readonly curves: readonly CurveRecord[];
}

/** The user's folder for settings (XDG Base Directory 0.8; %APPDATA% where there is one). */
export function configFolder(environment: NodeJS.ProcessEnv = process.env): string {
  const base = environment['XDG_CONFIG_HOME'] || environment['APPDATA'] || join(homedir(), '.config');
  return join(base, 'paintstop');
}

/** Curves of cameras that pairs have shown. A damaged or foreign file counts as none. */
export async function knownCurves(folder: string): Promise<ReadonlyMap<string, CurveRecord>> {
  return (await readStore(folder)) ?? new Map<string, CurveRecord>();
}

/** Null when there is no file of ours that can be read. */
async function readStore(folder: string): Promise<Map<string, CurveRecord> | null> {
  try {
    const stored = JSON.parse(await readFile(join(folder, NAME), 'utf8')) as Partial<Stored>;
    if (stored.schema !== SCHEMA || !Array.isArray(stored.curves)) return null;
    return new Map(stored.curves.filter(isRecord).map((record) => [record.key, record]));
  } catch {
    return null;
  }
}

function isRecord(value: unknown): value is CurveRecord {
  const record = value as Partial<CurveRecord> | null;
  const within = (n: unknown, low: number, high: number): boolean => typeof n === 'number' && n >= low && n <= high;
  return (
    typeof record?.key === 'string' &&
    within(record.errorStops, 0, 1) &&
    Array.isArray(record.frames) &&
    Array.isArray(record.channels) &&
    record.channels.length === 3 &&
    record.channels.every(
      (bins) =>
        Array.isArray(bins) &&
        (bins as Partial<CurveBin>[]).every(
          (bin) => within(bin.code, 0, 255) && within(bin.stops, -20, 4) && within(bin.weight, 0, 1e9),
        ),
    )
  );
}

/**
 * Adds what pairs have shown, and returns all that is known now. Losing it costs a little exactness later, so a folder that cannot be
 * written is no failure; a file of that name that is not ours is left alone.
 */
export async function keepCurves(folder: string, fresh: readonly CurveRecord[]): Promise<Map<string, CurveRecord>> {
  const path = join(folder, NAME);
  const stored = await readStore(folder);
  const known = withRecords(stored ?? new Map<string, CurveRecord>(), fresh);
  const changed = [...known].some(([key, record]) => stored?.get(key) !== record);
  const foreign = stored === null && (await stat(path).catch(() => null)) !== null;
  if (!changed || foreign) return known;
  const all: Stored = { schema: SCHEMA, curves: [...known.values()].slice(-MOST_RECORDS) };
  try {
    await mkdir(folder, { recursive: true });
    await replaceFile(path, JSON.stringify(all));
  } catch {
    // Without it the next JPEG is read as sRGB, and says so.
  }
  return known;
}

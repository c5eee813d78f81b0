import { isOfNamedCamera, withRecords, type CurveBin, type CurveRecord } from '../pipeline/cameraCurve.js';
import { isForeign, readStore, writeStore, type OwnStore } from './ownStore.js';

const MOST_RECORDS = 200;

const STORE: OwnStore<CurveRecord> = {
  name: 'curves.json',
  schema: 'paintstop.curves/1',
  key: 'curves',
  holds: isRecord,
};

/** Curves of cameras that pairs have shown. A damaged or foreign file counts as none. */
export async function knownCurves(folder: string): Promise<ReadonlyMap<string, CurveRecord>> {
  return byKey((await readStore(folder, STORE)) ?? []);
}

/** The file of curves is there and cannot be read: nothing is known, and nothing will be kept. */
export function curvesAreForeign(folder: string): Promise<boolean> {
  return isForeign(folder, STORE);
}

function byKey(records: readonly CurveRecord[]): Map<string, CurveRecord> {
  return new Map(records.map((record) => [record.key, record]));
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
 * Adds what frames have shown, and returns all that is known now. `known` is what this call knew before: curves that are partly guessed, or of
 * cameras without a name, are in the answer, but not kept.
 */
export async function keepCurves(
  folder: string,
  known: ReadonlyMap<string, CurveRecord>,
  fresh: readonly CurveRecord[],
): Promise<Map<string, CurveRecord>> {
  const before = byKey((await readStore(folder, STORE)) ?? []);
  const held = [...known].filter(([, record]) => !isToKeep(record));
  const all = withRecords(new Map([...held, ...before]), fresh);
  const sure = [...all.values()].filter(isToKeep);
  if (sure.some((record) => before.get(record.key) !== record))
    await writeStore(folder, STORE, sure.slice(-MOST_RECORDS));
  return all;
}

function isToKeep({ key, partlyGuessed }: CurveRecord): boolean {
  return partlyGuessed !== true && isOfNamedCamera(key);
}

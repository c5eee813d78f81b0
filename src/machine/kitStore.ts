import { withLearned, type KitLamp } from '../pipeline/learnLamps.js';
import { isForeign, readStore, writeStore, type OwnStore } from './ownStore.js';

const MOST_LAMPS = 60;

/** No lamp that is carried gives so much, and no frame leaves it so uncertain: such figures are not ours. */
const MOST_CANDELA = 1e8;
const MOST_SPREAD_STOPS = 20;

const STORE: OwnStore<KitLamp> = { name: 'kit.json', schema: 'paintstop.kit/1', key: 'lamps', holds: isLamp };

function isLamp(value: unknown): value is KitLamp {
  const lamp = value as Partial<KitLamp> | null;
  return (
    typeof lamp?.name === 'string' &&
    lamp.name !== '' &&
    (lamp.kind === 'held' || lamp.kind === 'stand') &&
    Array.isArray(lamp.samples) &&
    lamp.samples.length > 0 &&
    lamp.samples.every(
      (sample: Partial<KitLamp['samples'][number]> | null) =>
        typeof sample?.mark === 'string' &&
        typeof sample.candela === 'number' &&
        sample.candela > 0 &&
        sample.candela < MOST_CANDELA &&
        typeof sample.spreadStops === 'number' &&
        sample.spreadStops >= 0 &&
        sample.spreadStops < MOST_SPREAD_STOPS,
    )
  );
}

/** The photographer's lamps, as frames have shown them. A damaged or foreign file counts as none. */
export async function knownKit(folder: string): Promise<readonly KitLamp[]> {
  return (await readStore(folder, STORE)) ?? [];
}

/** The file of the kit is there and cannot be read: nothing is known, and nothing will be kept. */
export function kitIsForeign(folder: string): Promise<boolean> {
  return isForeign(folder, STORE);
}

/** Adds what frames have taught. */
export async function keepLamps(folder: string, fresh: readonly KitLamp[]): Promise<void> {
  if (fresh.length === 0) return;
  const before = await knownKit(folder);
  const after = withLearned(before, fresh);
  if (JSON.stringify(after) !== JSON.stringify(before)) await writeStore(folder, STORE, after.slice(-MOST_LAMPS));
}

/** Takes a lamp out; false when there was none of that name. */
export async function forgetLamp(folder: string, name: string): Promise<boolean> {
  const before = await knownKit(folder);
  const after = before.filter((lamp) => lamp.name !== name);
  if (after.length === before.length) return false;
  await writeStore(folder, STORE, after);
  return true;
}

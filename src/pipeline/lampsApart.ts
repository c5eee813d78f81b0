import type { LampLayers } from '../advise/facts.js';
import type { LightMap } from '../model/lightMap.js';
import type { FrameRecord } from '../model/night.js';
import type { LampShare } from '../model/reading.js';
import type { Warning } from '../model/frame.js';
import { REGION } from '../model/regions.js';
import { placed, placementOf } from '../sequence/align.js';
import { groupFrames, type Grouped } from '../sequence/groupSetups.js';
import { lampLevels } from '../sequence/lampLevels.js';
import { separate, type Separation } from '../sequence/separate.js';
import { sincePrevious } from '../sequence/sincePrevious.js';
import { contradiction } from './notesInDoubt.js';

/** A frame with its light, as far as foretelling needs it. */
export interface Tried {
  readonly record: Pick<FrameRecord, 'reading' | 'glance'>;
  readonly map: LightMap;
}

/** So many of a setup's last tries are used; more need not be kept. */
export const MOST_TRIES = 6;

/** The lamps of the last of some frames (oldest first), told apart from the tries of its setup as far as they allow it. */
export function lampsApart(frames: readonly Tried[]): {
  readonly separation: Separation | null;
  readonly tries: number;
  /** The tripod was moved before the last of them; earlier tries take no part. */
  readonly kick: Grouped['kick'];
  /** Notes that the light contradicts: the tries before them take no part. */
  readonly doubt: Warning | null;
} {
  const last = frames.at(-1);
  if (last === undefined) return { separation: null, tries: 0, kick: null, doubt: null };
  const { map } = last;
  const grouped = groupFrames(
    frames.map(({ record }) => ({ ...record, file: '', widestAperture: null, thumbnail: '' })),
  );
  const alike = frames
    .filter(
      (own, n) =>
        grouped[n]!.setup === grouped.at(-1)!.setup && own.map.width === map.width && own.map.height === map.height,
    )
    // Light read by another curve cannot be compared.
    .filter((own) => own.record.reading.encoding.response === last.record.reading.encoding.response)
    .slice(-MOST_TRIES);
  const doubts = alike.map(({ record }, n) => {
    const before = alike[n - 1]?.record;
    return before === undefined ? null : contradiction(before.reading, record.reading, sincePrevious(before, record));
  });
  const sound = alike.slice(
    Math.max(
      0,
      doubts.findLastIndex((doubt) => doubt !== null),
    ),
  );
  const separation = separate(
    sound.map((own) => ({
      map: own === last ? map : placed(own.map, placementOf(map, own.map)),
      settings: own.record.reading.settings,
      lights: own.record.reading.lights,
    })),
  );
  return { separation, tries: sound.length, kick: grouped.at(-1)!.kick, doubt: doubts.at(-1) ?? null };
}

/** Enough cells for a median and a highlight; the solver works them out for every setting that it tries. */
const MOST_CELLS = 320;

/** What the solver needs of lamps told apart: their light on cells of the ground. Null when not every lamp stands alone. */
export function layersForAdvice({ layers, wouldTell }: Separation, { regions, burnt }: LightMap): LampLayers | null {
  if (wouldTell !== null || layers.some(({ lamps }) => lamps.length > 1)) return null;
  const ground = Array.from(regions.keys()).filter(
    (i) => (regions[i] === REGION.painted || regions[i] === REGION.unlit) && burnt[i] === 0,
  );
  const step = Math.max(1, ground.length / MOST_CELLS);
  const cells = Array.from({ length: Math.floor(ground.length / step) }, (_, n) => ground[Math.floor(n * step)]!);
  const ordered = [...layers].sort((a, b) => a.lamps.length - b.lamps.length);
  return {
    lamps: ordered.map(({ lamps }) => lamps),
    light: ordered.map(({ planes: [red, green, blue] }) =>
      Float32Array.from(cells, (i) => 0.2126 * red[i]! + 0.7152 * green[i]! + 0.0722 * blue[i]!),
    ),
  };
}

/** Each lamp by itself, for the reading. Empty where the tries do not tell. */
export function lampShares(separation: Separation | null, map: LightMap, widthPx: number): LampShare[] {
  if (separation === null) return [];
  const cellPx = widthPx / map.width;
  return lampLevels(separation.layers, map).map(({ hotCell, ...level }) => ({
    ...level,
    hotSpot: {
      x: Math.round(((hotCell % map.width) + 0.5) * cellPx),
      y: Math.round((Math.floor(hotCell / map.width) + 0.5) * cellPx),
    },
  }));
}

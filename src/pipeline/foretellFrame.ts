import { glanceAt } from '../measure/glance.js';
import { lightMapOf } from '../measure/lightMap.js';
import type { LightMap } from '../model/lightMap.js';
import type { FrameRecord } from '../model/night.js';
import type { Light, Option } from '../model/reading.js';
import { groupSetups } from '../sequence/groupSetups.js';
import { placed, placementOf } from '../sequence/align.js';
import { lampLevels, type LampLevel } from '../sequence/lampLevels.js';
import { layersOfOne } from '../sequence/oneLayer.js';
import { relight } from '../sequence/relight.js';
import { separate, type Layer } from '../sequence/separate.js';
import type { FrameResult } from './readOneFrame.js';

/** A frame with its light, as far as foretelling needs it. */
export interface Tried {
  readonly record: Pick<FrameRecord, 'reading' | 'glance'>;
  readonly map: LightMap;
}

export function triedOf({ reading, grid, regions }: Pick<FrameResult, 'reading' | 'grid' | 'regions'>): Tried {
  return { record: { reading, glance: glanceAt(grid, regions) }, map: lightMapOf(grid, regions) };
}

/** The next frame before it is shot. */
export interface Foretold {
  /** The light of the last try on the same cells. */
  readonly now: LightMap;
  readonly planes: LightMap['planes'];
  /** Lamps that were told apart, from how many tries; null when one frame had to do. */
  readonly apartFrom: number | null;
  /** Each lamp over the land that it lights; empty from one frame. */
  readonly levels: readonly LampLevel[];
  /** What one more frame would tell. */
  readonly wouldTell: string | null;
}

/** So many of a setup's last tries are used; more need not be kept. */
export const MOST_TRIES = 6;

/**
 * The last of some frames (oldest first) with its best option carried out: lamps told apart where its setup has several tries that allow it,
 * else all lamps alike. Null without frames.
 */
export function foretellFrame(frames: readonly Tried[]): Foretold | null {
  const last = frames.at(-1);
  if (last === undefined) return null;
  const { map } = last;
  const { reading } = last.record;
  const setups = groupSetups(
    frames.map(({ record }) => ({ ...record, file: '', widestAperture: null, thumbnail: '' })),
  );
  const alike = frames
    .filter((own, n) => setups[n] === setups.at(-1) && own.map.width === map.width && own.map.height === map.height)
    .slice(-MOST_TRIES);
  const separation = separate(
    alike.map((own) => ({
      map: own === last ? map : placed(own.map, placementOf(map, own.map)),
      settings: own.record.reading.settings,
      lights: own.record.reading.lights,
    })),
  );
  const names = reading.lights.map(({ name }) => name);
  const { sky, unlit } = reading.regions;
  const unlitStops = unlit.areaFraction > 0.01 ? unlit.levelStops : null;
  const layers: readonly Layer[] = separation?.layers ?? layersOfOne(map, names, sky.levelStops, unlitStops);
  const best = reading.advice.options[0];
  return {
    now: map,
    planes: relight(layers, (lamps) => gainOf(lamps, best, reading.lights)),
    apartFrom: separation === null ? null : alike.length,
    levels: separation === null ? [] : lampLevels(separation.layers, map),
    wouldTell: separation?.wouldTell ?? null,
  };
}

/** What an option multiplies the light of these lamps by (their mean where they cannot be told apart); none: sky and ambient light. */
function gainOf(lamps: readonly string[], option: Option | undefined, lights: readonly Light[]): number {
  if (option === undefined) return 1;
  const product = (holds: (what: string, light: string | undefined) => boolean): number =>
    option.changes.reduce((all, { what, light, factor }) => (holds(what, light) ? all * factor : all), 1);
  const sensitivity = product((what, light) => light === undefined && what !== 'shutter');
  const shutter = product((what) => what === 'shutter');
  if (lamps.length === 0) return sensitivity * shutter;
  const gains = lamps.map((name) => {
    const held = lights.find((own) => own.name === name)?.kind === 'held';
    return sensitivity * (held ? 1 : shutter) * product((_, light) => light === name);
  });
  return gains.reduce((sum, gain) => sum + gain, 0) / gains.length;
}

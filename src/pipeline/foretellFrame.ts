import { glanceAt } from '../measure/glance.js';
import { lightMapOf } from '../measure/lightMap.js';
import type { LightMap } from '../model/lightMap.js';
import type { Light, Option, Reading } from '../model/reading.js';
import { lampLevels, type LampLevel } from '../sequence/lampLevels.js';
import { layersOfOne } from '../sequence/oneLayer.js';
import { relight } from '../sequence/relight.js';
import type { Layer, Separation } from '../sequence/separate.js';
import { lampsApart, type Tried } from './lampsApart.js';
import type { FrameResult } from './readOneFrame.js';

export { MOST_TRIES, type Tried } from './lampsApart.js';

export function triedOf({ reading, grid, regions }: Pick<FrameResult, 'reading' | 'grid' | 'regions'>): Tried {
  return { record: { reading, glance: glanceAt(grid, regions) }, map: lightMapOf(grid, regions) };
}

/** The same try with other words of advice. */
export function triedAgain(tried: Tried, reading: Reading): Tried {
  return { ...tried, record: { ...tried.record, reading } };
}

/** The next frame before it is shot. */
export interface Foretold {
  /** The light of the last try on the same cells. */
  readonly now: LightMap;
  readonly planes: LightMap['planes'];
  /** The lamps told apart; null when one frame had to do. */
  readonly separation: Separation | null;
  /** Lamps that were told apart, from how many tries; null when one frame had to do. */
  readonly apartFrom: number | null;
  /** Each lamp over the land that it lights; empty from one frame. */
  readonly levels: readonly LampLevel[];
  /** What one more frame would tell. */
  readonly wouldTell: string | null;
}

/**
 * The last of some frames (oldest first) with its best option carried out: lamps told apart where its setup has several tries that allow it,
 * else all lamps alike. Null without frames.
 */
export function foretellFrame(frames: readonly Tried[]): Foretold | null {
  const last = frames.at(-1);
  if (last === undefined) return null;
  const { map } = last;
  const { reading } = last.record;
  const { separation, tries } = lampsApart(frames);
  const names = reading.lights.map(({ name }) => name);
  const { sky, unlit } = reading.regions;
  const unlitStops = unlit.areaFraction > 0.01 ? unlit.levelStops : null;
  const layers: readonly Layer[] = separation?.layers ?? layersOfOne(map, names, sky.levelStops, unlitStops);
  const best = reading.advice.options[0];
  return {
    now: map,
    planes: relight(layers, (lamps) => gainOf(lamps, best, reading.lights)),
    separation,
    apartFrom: separation === null ? null : tries,
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

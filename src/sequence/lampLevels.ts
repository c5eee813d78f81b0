import { median } from '../math/statistics.js';
import type { LightMap } from '../model/lightMap.js';
import { REGION } from '../model/regions.js';
import type { Layer } from './separate.js';

/** One lamp (or several that cannot be told apart) on the land that it lights most. */
export interface LampLevel {
  readonly lamps: readonly string[];
  /** Middle of its light there, stops from clipping, from green. */
  readonly levelStops: number;
  /** Part of that land that its light alone clips. */
  readonly clipsAlone: number;
  /** Part of the frame. */
  readonly areaFraction: number;
  /** Index of the cell where its light is strongest. */
  readonly hotCell: number;
}

/** Land that a lamp lights is where it gives at least this part of the light; fewer cells are too few to speak of. */
const ITS_PART = 0.5;
const LEAST_CELLS = 40;

/** Each lamp's light over the land where it is the greater part, as the last try had it; a lamp that lights too little, or cannot be told from ambient light, is left out. */
export function lampLevels(layers: readonly Layer[], { regions }: LightMap): LampLevel[] {
  const all = Float32Array.from(regions, (_, i) => layers.reduce((sum, { planes }) => sum + planes[1][i]!, 0));
  return layers.flatMap(({ lamps, holdsAmbient, planes }): LampLevel[] => {
    if (holdsAmbient) return [];
    const cells = Array.from(regions.keys()).filter(
      (i) => regions[i] !== REGION.sky && planes[1][i]! > 2 ** -10 && planes[1][i]! >= ITS_PART * all[i]!,
    );
    if (cells.length < LEAST_CELLS) return [];
    const clips = cells.filter((i) => planes.some((plane) => plane[i]! >= 1)).length;
    return [
      {
        lamps,
        levelStops: Number(Math.log2(median(cells.map((i) => planes[1][i]!))).toFixed(2)),
        clipsAlone: Number((clips / cells.length).toFixed(4)),
        areaFraction: Number((cells.length / regions.length).toFixed(4)),
        hotCell: cells.reduce((best, i) => (planes[1][i]! > planes[1][best]! ? i : best)),
      },
    ];
  });
}

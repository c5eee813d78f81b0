import type { LightMap } from '../model/lightMap.js';
import { REGION } from '../model/regions.js';
import type { Layer } from './separate.js';

/** Land without lamps reflects about an eighth of the sky's light (common practice, no source). */
const LAND_UNDER_SKY_STOPS = 3;

/**
 * A single frame as two layers: sky with ambient light, and all lamps together. The land's ambient light is that of its unlit parts
 * (`unlitStops`), or what a land under that sky gives.
 */
export function layersOfOne(
  map: LightMap,
  lamps: readonly string[],
  skyStops: number | null,
  unlitStops: number | null,
): Layer[] {
  const ambientLight = 2 ** (unlitStops ?? (skyStops ?? -4) - LAND_UNDER_SKY_STOPS);
  const ambient = map.planes.map((plane) => Float32Array.from(plane)) as unknown as LightMap['planes'];
  const lit = map.planes.map((plane) => new Float32Array(plane.length)) as unknown as LightMap['planes'];
  map.regions.forEach((region, i) => {
    if (region === REGION.sky || region === REGION.unlit) return;
    const light = Math.max(map.planes[0][i]!, map.planes[1][i]!, map.planes[2][i]!);
    const part = light <= ambientLight ? 1 : ambientLight / light;
    map.planes.forEach((plane, c) => {
      ambient[c]![i] = plane[i]! * part;
      lit[c]![i] = plane[i]! * (1 - part);
    });
  });
  return [
    { lamps: [], holdsAmbient: true, planes: ambient },
    { lamps, holdsAmbient: false, planes: lit },
  ];
}

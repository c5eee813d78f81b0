import { boxBlur, rowsAround } from '../math/raster.js';
import { REGION, type Grid, type LandLight } from '../model/regions.js';

/** Lamp light as strong as the ambient light adds a stop to it: what is darker is not painted. */
const LIT_OVER_AMBIENT_STOPS = 1;

/**
 * And darker than the land around it by so much: where ambient light is told too bright, evenly dim paint stays. Found on frames of two
 * renderers that have cast shadows, foliage and branches: their paint was read 0.17 stop too dark in the median, and is 0.06 since; on
 * src/scene, which has soft ones, nothing changes.
 */
const DARKER_THAN_AROUND_STOPS = 0.4;

/** Blocks averaged over on each side: finer than paint is found, coarse enough for grain. */
const REACH = 1;

/** Shadows in the paint, gaps in foliage and rims: blocks of it that no lamp lights more than the sky does are unlit. */
export function leaveOutShadows(
  { width, luminance }: Pick<Grid, 'width' | 'luminance'>,
  mask: Uint8Array,
  around: LandLight['level'],
  ambientStops: number,
): void {
  const { from, to } = rowsAround(mask, width, REGION.painted, REACH);
  if (to === from) return;
  const first = from * width;
  const own = boxBlur(luminance.subarray(first, to * width), width, to - from, REACH);
  const lit = 2 ** (ambientStops + LIT_OVER_AMBIENT_STOPS);
  for (let k = 0; k < own.length; k++) {
    const i = first + k;
    if (mask[i] !== REGION.painted || own[k]! >= lit) continue;
    if (own[k]! < 2 ** (around[i]! - DARKER_THAN_AROUND_STOPS)) mask[i] = REGION.unlit;
  }
}

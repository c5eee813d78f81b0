import { boxBlur } from '../math/raster.js';
import { quickLog2 } from '../math/quickLog2.js';
import type { LandLevels } from '../model/reading.js';
import { REGION, type Grid } from '../model/regions.js';

const STEP_STOPS = 0.125;
const LOWEST_STOPS = -15;
const DARKEST = 2 ** LOWEST_STOPS;
const BINS = Math.round(-LOWEST_STOPS / STEP_STOPS) + 1;

/** How foreground light, smoothed over texture, is spread over levels: from it follows which land a dimmer or brighter lamp paints. */
export function measureLandLevels(grid: Grid, mask: Uint8Array): LandLevels | null {
  const { width, height, luminance } = grid;
  const reach = Math.max(1, Math.round(Math.max(width, height) / 260));
  const weight = new Float32Array(luminance.length);
  const light = new Float32Array(luminance.length);
  for (let i = 0; i < light.length; i++) {
    if (mask[i] !== REGION.painted && mask[i] !== REGION.unlit) continue;
    weight[i] = 1;
    light[i] = luminance[i]!;
  }
  const support = boxBlur(weight, width, height, reach);
  const calm = boxBlur(light, width, height, reach);
  const counts = new Array<number>(BINS).fill(0);
  let total = 0;
  for (let i = 0; i < calm.length; i += 3) {
    if (weight[i] === 0) continue;
    const stops = quickLog2(Math.max(DARKEST, calm[i]! / Math.max(1e-6, support[i]!)));
    counts[Math.max(0, Math.min(BINS - 1, Math.round((stops - LOWEST_STOPS) / STEP_STOPS)))]!++;
    total++;
  }
  if (total < 60) return null;
  return {
    lowestStops: LOWEST_STOPS,
    stepStops: STEP_STOPS,
    shares: counts.map((count) => Number((count / total).toFixed(5))),
  };
}

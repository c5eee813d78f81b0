import { boxBlur } from '../math/raster.js';
import { quickLog2 } from '../math/quickLog2.js';
import type { Frame } from '../model/frame.js';
import type { LandLevels } from '../model/reading.js';
import { REGION, type Grid } from '../model/regions.js';
import { LEAST_SHARE, type PutBack } from './hiddenLight.js';

const STEP_STOPS = 0.125;
const LOWEST_STOPS = -15;
const HIGHEST_STOPS = 5;
const DARKEST = 2 ** LOWEST_STOPS;
const BINS = Math.round((HIGHEST_STOPS - LOWEST_STOPS) / STEP_STOPS) + 1;

/** How foreground light, smoothed over texture, is spread over levels: from it follows which land a dimmer or brighter lamp paints. */
export function measureLandLevels(
  frame: Pick<Frame, 'luminanceWeights' | 'balance'>,
  grid: Grid,
  { mask, ambientStops }: { readonly mask: Uint8Array; readonly ambientStops: number | null },
  hidden: Omit<PutBack, 'brightest'>,
): LandLevels | null {
  const { width, height, luminance } = grid;
  const reach = Math.max(1, Math.round(Math.max(width, height) / 260));
  const weight = new Float32Array(luminance.length);
  const light = new Float32Array(luminance.length);
  const lightOf = blockReader(frame, grid, hidden);
  for (let i = 0; i < light.length; i++) {
    if (mask[i] !== REGION.painted && mask[i] !== REGION.unlit) continue;
    weight[i] = 1;
    light[i] = luminance[i]! > MAYBE_CLIPPED ? lightOf(i) : luminance[i]!;
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
    ambientStops: ambientStops === null ? null : Number(ambientStops.toFixed(2)),
    shares: counts.map((count) => Number((count / total).toFixed(5))),
  };
}

/** A block darker than this holds no more than a few clipped pixels, whatever its colour. */
const MAYBE_CLIPPED = 0.15;

/** Mean of a channel over a block from which on clipping may have cut it. */
const HOLDS = 0.85;

/** Luminance of a block with what clipping hides put back: from its weakest channel where that holds. */
function blockReader(
  { luminanceWeights, balance }: Pick<Frame, 'luminanceWeights' | 'balance'>,
  grid: Grid,
  { colour, allClippedStops }: Omit<PutBack, 'brightest'>,
): (block: number) => number {
  if (colour === null) return (i) => grid.luminance[i]! * (grid.luminance[i]! > HOLDS ? 2 ** allClippedStops : 1);
  const planes = [grid.red, grid.green, grid.blue];
  const weight = luminanceWeights.reduce((sum, own, c) => sum + own * colour[c]!, 0);
  const order = [0, 1, 2].sort((a, b) => colour[a]! - colour[b]!);
  const weakest = order.find((c) => colour[c]! >= LEAST_SHARE)!;
  const strongest = order[2]!;
  return (i) => {
    const own = (c: number): number => planes[c]![i]! / balance[c]!;
    if (own(strongest) < HOLDS) return grid.luminance[i]!;
    const weak = own(weakest);
    return Math.max(
      grid.luminance[i]!,
      weak < HOLDS ? (weak / colour[weakest]!) * weight : 2 ** allClippedStops * weight,
    );
  };
}

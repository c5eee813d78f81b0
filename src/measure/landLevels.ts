import { quickLog2 } from '../math/quickLog2.js';
import type { Frame } from '../model/frame.js';
import type { LandLevels, RegionLevels } from '../model/reading.js';
import { REGION, type Grid, type LandLight } from '../model/regions.js';
import { BLACK_STOPS, colourTrust, shareOf } from '../physics/twoLights.js';
import { LEAST_SHARE, type PutBack } from './hiddenLight.js';

const STEP_STOPS = 0.25;
const LOWEST_STOPS = -4;
const BINS = 60;
const LEAST_BLOCKS = 20;

/** Less of the ground than this left unlit is the rim of the paint, with lamp light in it; less of the frame says nothing. */
const LITTLE_UNLIT = 0.12;
const LEAST_UNLIT = 0.01;

/**
 * How the foreground is spread over the ratio of lamp light to ambient light, and how bright it is there: from it follows which land a dimmer
 * or brighter lamp paints.
 */
export function measureLandLevels(
  frame: Pick<Frame, 'luminanceWeights' | 'balance'>,
  grid: Grid,
  { mask, land }: { readonly mask: Uint8Array; readonly land: LandLight | null },
  { foreground, unlit }: Record<'foreground' | 'unlit', Pick<RegionLevels, 'areaFraction' | 'levelStops'>>,
  hidden: Omit<PutBack, 'brightest'>,
): LandLevels | null {
  if (land === null) return null;
  const shows = unlit.areaFraction > LEAST_UNLIT && unlit.areaFraction >= LITTLE_UNLIT * foreground.areaFraction;
  const { water } = land;
  // Where it was seen, or colour tells, lamp light is off it already; unlit land holds up to as much lamp light as ambient.
  const isOff = land.unlitIsSeen || land.colours !== null;
  const ambientStops = (shows && !isOff ? unlit.levelStops : null) ?? land.ambientStops;
  const lightOf = blockReader(frame, grid, hidden);
  const counts = new Array<number>(BINS).fill(0);
  const levels = new Array<number>(BINS).fill(0);
  let total = 0;
  for (let i = 0; i < mask.length; i += 3) {
    if (mask[i] !== REGION.painted && mask[i] !== REGION.unlit) continue;
    total++;
    if (water?.[i] === 1 || land.level[i]! < BLACK_STOPS) continue;
    const seen = grid.luminance[i]!;
    const level = land.level[i]! + (seen > MAYBE_CLIPPED ? quickLog2(lightOf(i) / seen) : 0);
    const told = quickLog2(Math.max(1e-6, lampOverAmbient(level, land.warmth[i]!, ambientStops, land.colours)));
    const ratio = mask[i] === REGION.painted ? Math.max(PAINTED_OVER, told) : Math.min(UNLIT_UNDER, told);
    if (ratio < LOWEST_STOPS) continue;
    const bin = Math.min(BINS - 1, Math.floor((ratio - LOWEST_STOPS) / STEP_STOPS));
    counts[bin]!++;
    levels[bin]! += level;
  }
  if (total < LEAST_BLOCKS) return null;
  return {
    lowestStops: LOWEST_STOPS,
    stepStops: STEP_STOPS,
    ambientStops: Number(ambientStops.toFixed(2)),
    shares: counts.map((count) => Number((count / total).toFixed(5))),
    levelStops: counts.map((count, n) => (count === 0 ? null : Number((levels[n]! / count).toFixed(2)))),
  };
}

/** Land taken for painted, or for unlit (water, snow), has lamp light of at least, or at most, this over ambient light, stops. */
const PAINTED_OVER = 0.25;
const UNLIT_UNDER = -0.5;

/** Land this much over ambient light may still be unlit, since its reflectance varies; less where colour has a say too. */
const REFLECTANCE_MARGIN = { level: 1.35, coloured: 1 };

/** Colour tells the two lights apart where they are mixed; from so many stops over ambient light on, level tells better. */
const COLOUR_TELLS_UNDER_STOPS = 3;
const COLOUR_SAYS = 0.7;
const LITTLE = 0.05;

/** Lamp light over ambient light on land of this level (stops) and colour (log2 R/B). */
function lampOverAmbient(level: number, warmth: number, ambient: number, colours: LandLight['colours']): number {
  const over = level - ambient;
  const light = 2 ** over;
  if (colours === null) return Math.max(0, light - REFLECTANCE_MARGIN.level);
  const byLevel = Math.max(0, light - REFLECTANCE_MARGIN.coloured);
  const says = COLOUR_SAYS * colourTrust(level) * Math.max(0, Math.min(1, (COLOUR_TELLS_UNDER_STOPS - over) / 1.5));
  if (says === 0) return byLevel;
  const share = Math.min(0.97, shareOf(warmth, colours.ambient, colours.lamp));
  const byColour = share / (1 - share);
  // Both said in stops, so that neither drowns the other.
  return (byColour + LITTLE) ** says * (byLevel + LITTLE) ** (1 - says) - LITTLE;
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

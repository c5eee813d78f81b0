import { boxBlur, rowsAround, shrink } from '../../math/raster.js';
import { quantile } from '../../math/statistics.js';
import { REGION, type Grid } from '../../model/regions.js';

interface Candidate {
  /** Block of the peak. */
  readonly bx: number;
  readonly by: number;
  /** Peak block over its background, in standard deviations of block noise. */
  readonly significance: number;
}

export interface Detection {
  readonly candidates: readonly Candidate[];
  /** 1 in blocks lit by a star: kept out of the sky's level. */
  readonly starBlocks: Uint8Array;
  /** Running background of the sky without stars; 0 outside it. */
  readonly background: Float32Array;
  /** Noise of a block over the square root of its background. */
  readonly noise: number;
}

/** Peaks of at least this many standard deviations are stars. */
const THRESHOLD = 6;

/** Finds points of light in the sky, away from its edges: local maxima of the grid over a clipped running background. */
export function detectStars(grid: Grid, mask: Uint8Array): Detection {
  const { width, height, luminance } = grid;
  const sky = new Uint8Array(mask.length);
  for (let i = 0; i < sky.length; i++) if (mask[i] === REGION.sky) sky[i] = 1;
  const radius = Math.max(4, Math.round(width / 110));
  const { from, to } = rowsAround(sky, width, 1, radius);
  const band = <T extends Uint8Array | Float32Array>(plane: T): T => plane.subarray(from * width, to * width) as T;
  const inside = new Uint8Array(mask.length);
  inside.set(shrink(band(sky), width, to - from, AWAY_FROM_EDGES), from * width);
  const background = new Float32Array(luminance.length);
  const noise = writeBackground(band(background), band(luminance), band(sky), width, to - from, radius);
  const starBlocks = new Uint8Array(width * height);
  const candidates: Candidate[] = [];
  const lit = LIT * LIT * noise * noise;
  for (let y = Math.max(1, from); y < Math.min(to, height - 1); y++) {
    for (let x = 1; x < width - 1; x++) {
      const i = y * width + x;
      if (sky[i] === 0) continue;
      const above = luminance[i]! - background[i]!;
      if (above <= 0 || above * above <= lit * Math.max(LEAST_LIGHT, background[i]!)) continue;
      starBlocks[i] = 1;
      const over = above / (noise * Math.sqrt(Math.max(LEAST_LIGHT, background[i]!)));
      if (over < THRESHOLD || inside[i] === 0 || !isPeak(luminance, i, width)) continue;
      candidates.push({ bx: x, by: y, significance: over });
    }
  }
  candidates.sort((a, b) => b.significance - a.significance);
  return { candidates, starBlocks, background, noise };
}

/** Blocks at the sky's edge that no star is looked for in. */
const AWAY_FROM_EDGES = 3;

/** Blocks this many standard deviations over their background are lit by a star. */
const LIT = 3;

/** Background under which noise falls no further. */
const LEAST_LIGHT = 1e-6;

/** Larger than all eight neighbours; on a tie the first in reading order. */
function isPeak(plane: Float32Array, i: number, width: number): boolean {
  const own = plane[i]!;
  return (
    own > plane[i - 1]! &&
    own >= plane[i + 1]! &&
    own > plane[i - width]! &&
    own >= plane[i + width]! &&
    own > plane[i - width - 1]! &&
    own > plane[i - width + 1]! &&
    own >= plane[i + width - 1]! &&
    own >= plane[i + width + 1]!
  );
}

/** Writes the running mean of the sky with outliers held back, and returns the noise of a block per square root of its level. */
function writeBackground(
  background: Float32Array,
  luminance: Float32Array,
  sky: Uint8Array,
  width: number,
  height: number,
  radius: number,
): number {
  const support = boxBlur(new Float32Array(sky), width, height, radius);
  const held = new Float32Array(luminance.length);
  for (let i = 0; i < held.length; i++) if (sky[i] === 1) held[i] = luminance[i]!;
  const rough = mean(held, support, width, height, radius);
  const roughNoise = noiseOf(luminance, rough, sky);
  for (let i = 0; i < held.length; i++)
    if (sky[i] === 1)
      held[i] = Math.min(held[i]!, rough[i]! + 2 * roughNoise * Math.sqrt(Math.max(LEAST_LIGHT, rough[i]!)));
  background.set(mean(held, support, width, height, radius));
  return noiseOf(luminance, background, sky);
}

function mean(
  values: Float32Array,
  support: Float32Array,
  width: number,
  height: number,
  radius: number,
): Float32Array {
  const out = boxBlur(values, width, height, radius);
  for (let i = 0; i < out.length; i++) out[i] = support[i]! > 1e-4 ? out[i]! / support[i]! : 0;
  return out;
}

/** From the darker half only, which stars do not reach: the 16th percentile lies one sigma under the background. */
function noiseOf(luminance: Float32Array, background: Float32Array, sky: Uint8Array): number {
  const ratios = new Float32Array(Math.ceil(luminance.length / 11));
  let count = 0;
  for (let i = 0; i < luminance.length; i += 11)
    if (sky[i] === 1)
      ratios[count++] = (background[i]! - luminance[i]!) / Math.sqrt(Math.max(LEAST_LIGHT, background[i]!));
  if (count < 50) return 0.05;
  return Math.max(1e-3, quantile(ratios.subarray(0, count), 0.84));
}

import { betweenKnots } from '../../calibration/curveKnots.js';
import { LIKELY_OVER } from '../../calibration/data/displayCurves.js';
import { dot, solveSystem } from '../../math/leastSquares.js';
import { median } from '../../math/statistics.js';
import type { CurveHint } from '../../model/curveHint.js';
import type { Frame } from '../../model/frame.js';
import type { Stars } from '../../model/reading.js';
import type { Grid, Regions } from '../../model/regions.js';
import { srgbToLinear } from '../../physics/encoding.js';
import type { Detection } from '../stars/detect.js';
import { CODE_STEPS, starProfiles, type StarProfile } from './profiles.js';

/** Fewer stars tell nothing. */
const LEAST_PROFILES = 30;
/** Wider or longer stars do not fit in the square that is summed, pixels. */
const MOST_PX = { fwhm: 5, elongation: 6 };

/** What packing, sharpening and crowding do to faint stars and not to bright ones, in the slope that is measured. */
const UNKNOWN_SLOPE = 0.04;

/** Part of a star's log ratio that differs from star to star whatever its grain, and what grain adds, per noise over contrast. */
const SCATTER = { own: 0.05, grain: 1.5 };

/**
 * What the shapes of stars tell of a JPEG's display curve. In linear light all stars of a frame are the same figure, however bright; a curve that
 * flattens towards white makes bright ones look wider than faint ones. Sought is the curve through which the ratio of a star's light to that
 * of its core no longer depends on its brightness (places apart, since trails and coma change over the frame). The idea: light that mixes
 * must mix in a straight line once the curve is undone (S. Lin, J. Gu, S. Yamazaki and H.-Y. Shum, Radiometric calibration from a single
 * image, CVPR 2004, from memory, for mixed pixels at edges); stars as the mixture are ours. One equation, made linear about the middle of
 * cameras' curves. Null with too few stars, or none that are sharp.
 */
export function starsTellCurve(
  frame: Frame,
  grid: Grid,
  regions: Regions,
  detection: Detection,
  { fwhmPx, elongationPx, cause }: Stars,
): CurveHint | null {
  if (fwhmPx === null || elongationPx === null || cause === 'defocus') return null;
  if (fwhmPx > MOST_PX.fwhm || elongationPx > MOST_PX.elongation) return null;
  const profiles = starProfiles(frame, grid, regions, detection);
  return profiles.length < LEAST_PROFILES ? null : hintOf(profiles);
}

/** The equation that the profiles give; null where they are all of one brightness. */
export function hintOf(profiles: readonly StarProfile[]): CurveHint | null {
  const ratios = profiles.map(ratioOf);
  const fit = slopeAgainstBrightness(
    profiles,
    ratios.map(({ log }) => log),
  );
  if (fit === null || !Number.isFinite(fit.slope + fit.error)) return null;
  const parts = LIKELY_OVER.map((_, knot) =>
    knot === WHITE ? 0 : ratios.reduce((sum, { byKnot }, n) => sum + fit.weights[n]! * byKnot[knot]!, 0),
  );
  return {
    parts: parts.map((part) => Number(part.toPrecision(4))),
    value: Number((dot(parts, LIKELY_OVER) - fit.slope).toPrecision(4)),
    spread: Number(Math.hypot(fit.error, UNKNOWN_SLOPE).toPrecision(3)),
  };
}

/** The curve's last knot is white and stays where it is. */
const WHITE = LIKELY_OVER.length - 1;

/** By step: its light by the middle of cameras' curves, the knot under it, and what a stop at that knot and at the next adds to the light. */
interface Steps {
  readonly light: Float64Array;
  readonly knot: Uint8Array;
  readonly under: Float64Array;
  readonly over: Float64Array;
}

/** Worked out at the first use: most commands need none. */
let steps: Steps | null = null;

function stepsOf(): Steps {
  if (steps !== null) return steps;
  const size = CODE_STEPS + 1;
  const made = {
    light: new Float64Array(size),
    knot: new Uint8Array(size),
    under: new Float64Array(size),
    over: new Float64Array(size),
  };
  for (let step = 0; step < size; step++) {
    const read = Math.log2(Math.max(2 ** -14, srgbToLinear(step / CODE_STEPS)));
    const knots = betweenKnots(read);
    const light = 2 ** (read + knots.reduce((sum, [knot, part]) => sum + part * LIKELY_OVER[knot]!, 0));
    made.light[step] = light;
    made.knot[step] = knots[0]![0];
    made.under[step] = knots[0]![1] * light * Math.LN2;
    made.over[step] = (knots[1]?.[1] ?? 0) * light * Math.LN2;
  }
  return (steps = made);
}

/** Sum of the light of some pixels, and what a stop at each knot adds to it. */
function sumOf(pixels: Uint16Array): { light: number; byKnot: Float64Array } {
  const by = stepsOf();
  const byKnot = new Float64Array(LIKELY_OVER.length);
  let light = 0;
  for (let n = 0; n < pixels.length; n++) {
    const step = pixels[n]!;
    const knot = by.knot[step]!;
    light += by.light[step]!;
    byKnot[knot]! += by.under[step]!;
    byKnot[knot + 1]! += by.over[step]!;
  }
  return { light, byKnot };
}

const LEAST_RATIO = 0.3;

/** Log of a star's whole light over its core's, and what a stop at each knot adds to it. */
function ratioOf({ core, skirt, ring }: StarProfile): { log: number; byKnot: Float64Array } {
  const [inner, outer, sky] = [sumOf(core), sumOf(skirt), sumOf(ring)];
  const inCore = inner.light - (core.length / ring.length) * sky.light;
  const beside = outer.light - (skirt.length / ring.length) * sky.light;
  const ratio = 1 + beside / inCore;
  if (!(ratio > LEAST_RATIO)) return { log: Math.log(LEAST_RATIO), byKnot: new Float64Array(LIKELY_OVER.length) };
  const byKnot = inner.byKnot.map((more, knot) => {
    const moreInCore = more - (core.length / ring.length) * sky.byKnot[knot]!;
    const moreBeside = outer.byKnot[knot]! - (skirt.length / ring.length) * sky.byKnot[knot]!;
    return (moreBeside - (beside / inCore) * moreInCore) / (inCore * ratio);
  });
  return { log: Math.log(ratio), byKnot };
}

const ROUNDS = 6;
/** Residuals beyond so many spreads lose their weight. */
const FAR = 2;

/**
 * How a star's ratio changes with its brightness, at one place: slope of a robust least-squares fit that is quadratic in place, and the weight of
 * each star's ratio in it.
 */
function slopeAgainstBrightness(
  profiles: readonly StarProfile[],
  ratios: readonly number[],
): { slope: number; error: number; weights: number[] } | null {
  const design = profiles.map(({ x, y, contrast }) => [1, contrast, x, y, x * x, x * y, y * y]);
  const first = profiles.map(
    ({ noise, contrast }) => 1 / ((SCATTER.grain * (noise / contrast)) ** 2 + SCATTER.own ** 2),
  );
  const size = design[0]!.length;
  let weights = first;
  for (let round = 1; ; round++) {
    const gram = new Float64Array(size * size);
    const right = new Float64Array(size);
    for (const [n, row] of design.entries())
      for (let i = 0; i < size; i++) {
        right[i]! += weights[n]! * row[i]! * ratios[n]!;
        for (let j = 0; j < size; j++) gram[i * size + j]! += weights[n]! * row[i]! * row[j]!;
      }
    const fit = solveSystem(gram, right);
    // The slope's row of the inverse: each ratio's part in the slope.
    const slopes = solveSystem(
      gram,
      Array.from({ length: size }, (_, i) => (i === 1 ? 1 : 0)),
    );
    if (fit === null || slopes === null) return null;
    const misses = design.map((row, n) => (ratios[n]! - dot(row, fit)) * Math.sqrt(first[n]!));
    const spread = Math.max(LEAST_SPREAD, 1.4826 * median(misses.map(Math.abs)));
    if (round === ROUNDS)
      return {
        slope: fit[1]!,
        error: spread * Math.sqrt(LOST_WEIGHT * slopes[1]!),
        weights: design.map((row, n) => weights[n]! * dot(row, slopes)),
      };
    weights = first.map((weight, n) => weight / (1 + (misses[n]! / (FAR * spread)) ** 2));
  }
}

/** Stars that are alike to the last digit are drawn ones. */
const LEAST_SPREAD = 1e-6;

/** Variance of the robust fit over that of plain least squares. */
const LOST_WEIGHT = 1.2;

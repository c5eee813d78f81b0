import { CURVE_KNOTS, LIKELY_OVER } from '../../calibration/data/displayCurves.js';
import { heightAt } from '../../math/brokenLine.js';
import { solveSystem } from '../../math/leastSquares.js';
import { median } from '../../math/statistics.js';
import type { CurveHint } from '../../model/curveHint.js';
import type { Frame } from '../../model/frame.js';
import type { Stars } from '../../model/reading.js';
import type { Grid, Regions } from '../../model/regions.js';
import { srgbToLinear } from '../../physics/encoding.js';
import type { Detection } from './detect.js';
import { CODE_STEPS, starProfiles, type StarProfile } from './profiles.js';

/** Fewer stars tell nothing. */
const LEAST_PROFILES = 30;
/** Wider or longer stars do not fit in the square that is summed, pixels. */
const MOST_PX = { fwhm: 5, elongation: 6 };

/** What packing, sharpening and crowding do to faint stars and not to bright ones, in the slope that is measured. */
const UNKNOWN_SLOPE = 0.04;

/** A little step of the curve at one knot, stops. */
const STEP = 0.15;

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
  const fit = slopeAgainstBrightness(profiles, ratiosBy(profiles, LIKELY_OVER));
  if (fit === null) return null;
  const darkest = darkestOf(profiles);
  const parts = CURVE_KNOTS.map((_, knot) => {
    // White is fixed, and a knot whose neighbour lies under the darkest pixel reaches none.
    const end = CURVE_KNOTS[knot + 1];
    if (end === undefined || end < darkest) return 0;
    const [more, less] = [STEP, -STEP].map((step) =>
      ratiosBy(
        profiles,
        LIKELY_OVER.map((over, n) => (n === knot ? over + step : over)),
      ),
    );
    return fit.weights.reduce((sum, weight, n) => sum + weight * (more![n]! - less![n]!), 0) / (2 * STEP);
  });
  const atMiddle = parts.reduce((sum, part, n) => sum + part * LIKELY_OVER[n]!, 0);
  return {
    parts: parts.map((part) => Number(part.toPrecision(4))),
    value: Number((atMiddle - fit.slope).toPrecision(4)),
    spread: Number(Math.hypot(fit.error, UNKNOWN_SLOPE).toPrecision(3)),
  };
}

/** What sRGB reads at each step, stops. */
const READ_STOPS = Float64Array.from({ length: CODE_STEPS + 1 }, (_, step) =>
  Math.log2(Math.max(2 ** -14, srgbToLinear(step / CODE_STEPS))),
);

/** Stops of the darkest pixel, by sRGB. */
function darkestOf(profiles: readonly StarProfile[]): number {
  let step = CODE_STEPS;
  for (const { core, skirt, ring } of profiles)
    for (const steps of [core, skirt, ring]) for (const own of steps) if (own < step) step = own;
  return READ_STOPS[step]!;
}

/** Log of each star's whole light over its core's, by the curve that lies so far over what sRGB reads. */
function ratiosBy(profiles: readonly StarProfile[], over: readonly number[]): number[] {
  const line = CURVE_KNOTS.map((knot, n) => [knot, over[n]!] as const);
  const light = READ_STOPS.map((read) => 2 ** (read + heightAt(line, read)));
  const sum = (steps: Uint16Array): number => {
    let total = 0;
    for (const step of steps) total += light[step]!;
    return total;
  };
  return profiles.map(({ core, skirt, ring }) => {
    const background = sum(ring) / ring.length;
    const inCore = sum(core) - core.length * background;
    const beside = sum(skirt) - skirt.length * background;
    return Math.log(Math.max(LEAST_RATIO, 1 + beside / inCore));
  });
}

const LEAST_RATIO = 0.3;

const ROUNDS = 8;
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
    const spread = 1.4826 * median(misses.map(Math.abs));
    if (round === ROUNDS)
      return {
        slope: fit[1]!,
        error: spread * Math.sqrt(LOST_WEIGHT * slopes[1]!),
        weights: design.map((row, n) => weights[n]! * dot(row, slopes)),
      };
    weights = first.map((weight, n) => weight / (1 + (misses[n]! / (FAR * spread)) ** 2));
  }
}

/** Variance of the robust fit over that of plain least squares. */
const LOST_WEIGHT = 1.2;

function dot(a: readonly number[], b: readonly number[]): number {
  return a.reduce((sum, value, n) => sum + value * b[n]!, 0);
}

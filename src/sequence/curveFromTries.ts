import { miscountStops } from '../calibration/hands.js';
import { solveSystem } from '../math/leastSquares.js';
import { quantile } from '../math/statistics.js';
import type { Settings } from '../model/frame.js';
import type { Light } from '../model/reading.js';
import type { ToneSample } from '../model/toneSample.js';
import { srgbToLinear } from '../physics/encoding.js';
import { distanceRatio } from '../physics/exposure.js';
import {
  crossings,
  FOLLOWED_SPREAD,
  NOTHING_NOTED,
  pairRows,
  type Change,
  type Crossing,
  type PairRow,
} from './tonePairs.js';

/** A try of a setup as its JPEG shows it. */
export interface ToneTry {
  readonly sample: ToneSample;
  readonly settings: Settings;
  readonly lights: readonly Light[];
  /** What the paint's own light changed by since the try before, stops, where no count is noted but what was advised was probably done. */
  readonly followedStops?: number | null;
}

/** A camera's display curve, told by light: `stopsOf(code)` in stops from sensor white for code 0 to 255. */
export interface FoundCurve {
  readonly stopsOf: (code: number) => number;
  readonly errorStops: number;
  /**
   * Nothing went white, or only paint that was changed as advised, if it was: differences of light are told and their height is guessed. Or
   * only the paint tells, and the sky's end is guessed.
   */
  readonly partlyGuessed: boolean;
  /** Code values that the tries have shown. */
  readonly lowest: number;
  readonly highest: number;
}

/** Where the curve's distance from sRGB is worked out, stops from white by sRGB; straight between. */
const KNOTS = [-10, -9, -8, -7, -6, -5, -4, -3, -2.5, -2, -1.5, -1, -0.75, -0.5, -0.25, 0];

/** The fit must be this good before it is worth more than the guess of sRGB. */
const WORST_ERROR_STOPS = 0.25;
const LEAST_ROWS = 12;
const MOST_UNLIKE_STOPS = 0.4;

/**
 * Light is just clipped one stop higher where it stands one stop under white: light that reaches white in the brighter of two tries gives
 * the curve's absolute height, and code values that follow each other from try to try its slope (P. Debevec and J. Malik, Recovering high
 * dynamic range radiance maps from photographs, SIGGRAPH 1997, equation 3, with the smoothness of second differences; the anchor at white
 * is ours). What the paint really changed by is an unknown of each pair, held near what was noted. Null where tries do not tell.
 */
export function curveFromTries(tries: readonly ToneTry[]): FoundCurve | null {
  const rows: PairRow[] = [];
  const tops: Crossing[] = [];
  let pairs = 0;
  const noted: { stops: number; spread: number }[] = [];
  for (let a = 0; a < tries.length; a++)
    for (let b = 0; b < tries.length; b++) {
      const change = changeBetween(tries[a]!, tries[b]!, followed(tries, a, b));
      if (a === b || change === null) continue;
      const [dark, bright] = [tries[a]!.sample, tries[b]!.sample];
      if (dark.codes.length !== bright.codes.length) continue;
      const found = pairRows(dark, bright, change, pairs);
      if (found.rows.length === 0) continue;
      rows.push(...found.rows);
      tops.push(...crossings(dark, bright, change, pairs).filter(({ painted }) => !(painted && found.mixed)));
      noted.push(change.paint ?? { stops: 0, spread: NOTHING_NOTED });
      pairs++;
    }
  if (rows.length < LEAST_ROWS) return null;
  const paintOnly = rows.every(({ painted }) => painted);
  const toldWithin = (spread: number): boolean =>
    tops.some(({ painted, pair }) => !painted || noted[pair]!.spread < spread);
  // Paint of which nothing is known says nothing of the height by where it turns white.
  const anchored = toldWithin(NOTHING_NOTED);
  const { answer, guessed } = anchored
    ? { answer: solved(rows, tops, noted, null), guessed: guessOf(toldWithin(FOLLOWED_SPREAD), paintOnly) }
    : ownGuess(rows, noted);
  if (answer === null) return null;
  // What the camera's settings changed is sure; slope or height told by the paint alone is no better than its counts are.
  const byPaint = paintOnly || (anchored && tops.every(({ painted }) => painted));
  const counts = byPaint ? 0.5 * Math.min(...noted.map((paint) => paint.spread)) : 0;
  const spread = Math.hypot(0.07, answer.unrest, answer.anchorUnrest, counts);
  if (spread > WORST_ERROR_STOPS) return null;
  const errorStops = Number(Math.hypot(spread, guessed).toFixed(2));
  const seen = rows.flatMap(({ dark, bright }) => [dark, bright]);
  return {
    stopsOf: (code) => {
      const display = Math.log2(Math.max(2 ** -14, srgbToLinear(code / 255)));
      return display + answer.over(display);
    },
    errorStops,
    partlyGuessed: guessed > 0,
    lowest: quantile(seen, 0.01),
    highest: quantile(seen, 1),
  };
}

/** Whether what was advised was done at all is a guess besides its count. */
const FOLLOWED_HEIGHT_STOPS = 0.15;

/** Error of what is guessed besides, stops: the height where nothing sure went white, the sky's end where only the paint tells. */
function guessOf(surely: boolean, paintOnly: boolean): number {
  if (!surely) return FOLLOWED_HEIGHT_STOPS;
  return paintOnly ? GUESSED_HEIGHT.stops : 0;
}

/** From try `a` to try `b`, whichever came first; null where it is not known of a try between. */
function followed(tries: readonly ToneTry[], a: number, b: number): number | null {
  let sum = 0;
  for (const { followedStops } of tries.slice(Math.min(a, b) + 1, Math.max(a, b) + 1)) {
    if (followedStops == null) return null;
    sum += followedStops;
  }
  return a < b ? sum : -sum;
}

/** From `dark` to `bright`: what the camera's settings do to all that burns through, and what is noted of the paint. Null where unknown. */
function changeBetween(dark: ToneTry, bright: ToneTry, advised: number | null): Change | null {
  const exposure = ({ settings: { iso, aperture } }: ToneTry): number | null =>
    iso === null || aperture === null ? null : Math.log2(iso / aperture ** 2);
  const [from, to] = [exposure(dark), exposure(bright)];
  const [shutterFrom, shutterTo] = [dark.settings.shutterSeconds, bright.settings.shutterSeconds];
  if (from === null || to === null || shutterFrom === null || shutterTo === null) return null;
  const sensitivity = to - from;
  const through = sensitivity + Math.log2(shutterTo / shutterFrom);
  const each = bright.lights.map((light) => ownChange(dark.lights, light, sensitivity, through));
  const known = each.filter((change) => change !== null);
  if (known.length < each.length || each.length === 0)
    return advised === null
      ? { through, paint: { stops: sensitivity, spread: NOTHING_NOTED } }
      : { through, paint: { stops: sensitivity + advised, spread: FOLLOWED_SPREAD } };
  const [low, high] = [Math.min(...known.map(({ stops }) => stops)), Math.max(...known.map(({ stops }) => stops))];
  const spread = Math.max(...known.map((change) => change.spread));
  // Lamps that changed by different factors, or were moved, change the paint by another one in each place.
  if (high - low > MOST_UNLIKE_STOPS || isMoved(dark.lights, bright.lights)) return { through, paint: null };
  return { through, paint: { stops: (low + high) / 2, spread: Math.hypot(spread, (high - low) / 2) } };
}

function isMoved(before: readonly Light[], now: readonly Light[]): boolean {
  return now.some(({ name, distanceM }) => {
    const was = before.find((own) => own.name === name)?.distanceM ?? null;
    return was !== null && distanceM !== null && Math.abs(Math.log2(distanceM / was)) > 0.01;
  });
}

function ownChange(
  before: readonly Light[],
  light: Light,
  sensitivity: number,
  through: number,
): { stops: number; spread: number } | null {
  const was = before.find((own) => own.name === light.name && own.kind === light.kind);
  if (was?.power == null || light.power === null || was.power === 0 || light.power === 0) return null;
  const apart = was.distanceM === null || light.distanceM === null ? 1 : distanceRatio(was.distanceM, light.distanceM);
  const lamp = Math.log2((light.power / was.power) * apart);
  if (light.kind === 'stand') return { stops: through + lamp, spread: 0.03 };
  if (was.seconds === null || light.seconds === null) return null;
  const spread = Math.hypot(miscountStops(was.seconds), miscountStops(light.seconds));
  return { stops: sensitivity + lamp + Math.log2(light.seconds / was.seconds), spread };
}

/** Weighted sum of the two knots round a place. */
function between(stops: number): readonly (readonly [knot: number, part: number])[] {
  if (stops <= KNOTS[0]!) return [[0, 1]];
  let n = 0;
  while (n + 2 < KNOTS.length && KNOTS[n + 1]! < stops) n++;
  const part = Math.min(1, (stops - KNOTS[n]!) / (KNOTS[n + 1]! - KNOTS[n]!));
  return [
    [n, 1 - part],
    [n + 1, part],
  ];
}

interface Answer {
  readonly over: (display: number) => number;
  /** Typical residual of the code values, and of the anchors, stops. */
  readonly unrest: number;
  readonly anchorUnrest: number;
}

/**
 * Where nothing went white: code 255 is held near sensor white, and middle grey (code 118, 18 % of white) of a curve of a camera's own near
 * 12.7 % of saturation, half a stop lower (ISO 12232:2019, saturation-based speed, its half stop of headroom). A curve as even as sRGB is
 * read as sRGB, and may be lifted evenly all the same: its height is known no better than that of a lone JPEG's mid tones.
 */
const GUESSED_HEIGHT = { stops: 0.25, evenStops: 0.42, white: 20, grey: 50, greyAt: -2.44, greyOver: -0.53 };
/** How much steeper than sRGB a camera's own curve is between these, stops. */
const OWN_CURVE = { from: -5.5, to: -2.5, least: 0.05, sure: 0.25 };

/** `guessed`: error of the height, stops. */
function ownGuess(
  rows: readonly PairRow[],
  noted: readonly { stops: number; spread: number }[],
): { answer: Answer | null; guessed: number } {
  const { stops, evenStops } = GUESSED_HEIGHT;
  const even = solved(rows, [], noted, { grey: 0 });
  if (even === null) return { answer: null, guessed: evenStops };
  const steeper = even.over(OWN_CURVE.from) - even.over(OWN_CURVE.to);
  const own = Math.max(0, Math.min(1, (steeper - OWN_CURVE.least) / (OWN_CURVE.sure - OWN_CURVE.least)));
  const answer = own === 0 ? even : solved(rows, [], noted, { grey: own * GUESSED_HEIGHT.greyOver });
  return { answer, guessed: evenStops + own * (stops - evenStops) };
}

const ROUNDS = 6;
const SMOOTH = 30;
const TOWARDS_SRGB = 0.3;
const ANCHOR = 3000;

/** Robust least squares: residuals beyond an eighth of a stop lose their weight. The unknowns are the knots, then each pair's paint. */
function solved(
  rows: readonly PairRow[],
  tops: readonly Crossing[],
  noted: readonly { stops: number; spread: number }[],
  guess: { readonly grey: number } | null,
): Answer | null {
  const size = KNOTS.length + noted.length;
  let x: number[] = [...KNOTS.map(() => 0), ...noted.map(({ stops }) => stops)];
  const at = (display: number): number => between(display).reduce((sum, [knot, part]) => sum + part * x[knot]!, 0);
  const missOfRow = (row: PairRow): number =>
    row.bright + at(row.bright) - row.dark - at(row.dark) - (row.painted ? x[KNOTS.length + row.pair]! : row.through);
  const missOfTop = (top: Crossing): number =>
    top.at + at(top.at) + (top.painted ? x[KNOTS.length + top.pair]! : top.through) - top.white;
  for (let round = 0; round < ROUNDS; round++) {
    const gram = new Float64Array(size * size);
    const right = new Float64Array(size);
    const add = (terms: readonly (readonly [number, number])[], value: number, weight: number): void => {
      for (const [i, u] of terms) {
        right[i]! += weight * u * value;
        for (const [j, v] of terms) gram[i * size + j]! += weight * u * v;
      }
    };
    for (const row of rows) {
      const terms = [...between(row.bright), ...between(row.dark).map(([knot, part]) => [knot, -part] as const)];
      const value = row.dark - row.bright + (row.painted ? 0 : row.through);
      const weight = row.weight / (1 + (missOfRow(row) / 0.12) ** 2);
      add(row.painted ? [...terms, [KNOTS.length + row.pair, -1]] : terms, value, weight);
    }
    for (const top of tops) {
      const value = top.white - top.at - (top.painted ? 0 : top.through);
      const terms = between(top.at);
      add(top.painted ? [...terms, [KNOTS.length + top.pair, 1]] : terms, value, ANCHOR * top.weight);
    }
    noted.forEach(({ stops, spread }, n) => {
      add([[KNOTS.length + n, 1]], stops, 20 / spread ** 2);
    });
    for (let i = 1; i < KNOTS.length - 1; i++) {
      const [left, after] = [KNOTS[i]! - KNOTS[i - 1]!, KNOTS[i + 1]! - KNOTS[i]!];
      const bend = [
        [i - 1, 1 / left],
        [i, -1 / left - 1 / after],
        [i + 1, 1 / after],
      ] as const;
      add(bend, 0, SMOOTH * Math.min(left, after));
    }
    KNOTS.forEach((_, i) => {
      add([[i, 1]], 0, TOWARDS_SRGB);
    });
    if (guess !== null) {
      add([[KNOTS.length - 1, 1]], 0, GUESSED_HEIGHT.white);
      add(between(GUESSED_HEIGHT.greyAt), guess.grey, GUESSED_HEIGHT.grey);
    }
    const next = solveSystem(gram, right);
    if (next === null) return null;
    x = next;
  }
  return {
    over: at,
    unrest: quantile(
      rows.map((row) => Math.abs(missOfRow(row))),
      0.68,
    ),
    anchorUnrest: Math.max(0, ...tops.map((top) => Math.abs(missOfTop(top)))),
  };
}

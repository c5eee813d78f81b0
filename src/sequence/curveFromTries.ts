import { miscountStops } from '../calibration/hands.js';
import { tellsOwnCurve } from '../calibration/cameraLift.js';
import { heightAt } from '../math/brokenLine.js';
import { quantile } from '../math/statistics.js';
import type { CurveHint } from '../model/curveHint.js';
import type { Settings } from '../model/frame.js';
import type { Light } from '../model/reading.js';
import type { ToneSample } from '../model/toneSample.js';
import { srgbToLinear } from '../physics/encoding.js';
import { distanceRatio } from '../physics/exposure.js';
import { solved, type Answer, type Noted } from './curveFit.js';
import {
  crossings,
  FOLLOWED_SPREAD,
  NOTHING_NOTED,
  pairRows,
  paintOverRest,
  skyGrowth,
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
  /** What its stars tell of the curve. */
  readonly hint?: CurveHint | null;
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
  const noted: Noted[] = [];
  if (!isSkySteady(tries)) return null;
  for (let a = 0; a < tries.length; a++)
    for (let b = 0; b < tries.length; b++) {
      const told = changeBetween(tries[a]!, tries[b]!, followed(tries, a, b));
      if (a === b || told === null) continue;
      const [dark, bright] = [tries[a]!.sample, tries[b]!.sample];
      if (dark.codes.length !== bright.codes.length) continue;
      const seen = pairRows(dark, bright, told, pairs);
      if (seen.rows.length === 0) continue;
      const change = withPaint(told, seen.rows);
      const found = change === told ? seen : pairRows(dark, bright, change, pairs);
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
    ? { answer: solved(rows, tops, noted, 'smooth'), guessed: guessOf(toldWithin(FOLLOWED_SPREAD), paintOnly) }
    : ownGuess(
        rows,
        noted,
        tries.flatMap(({ hint }) => hint ?? []),
      );
  if (answer === null) return null;
  // What the camera's settings changed is sure; slope or height told by the paint alone is no better than its counts are.
  const byPaint = paintOnly || (anchored && tops.every(({ painted }) => painted));
  const counts = byPaint ? 0.5 * Math.min(...noted.map((paint) => paint.spread)) : 0;
  const spread = Math.hypot(0.07, answer.unrest, answer.anchorUnrest, counts);
  if (spread > WORST_ERROR_STOPS) return null;
  const errorStops = Number(Math.hypot(spread, guessed).toFixed(2));
  const codes = rows.flatMap(({ dark, bright }) => [dark, bright]);
  return {
    stopsOf: (code) => {
      const display = Math.log2(Math.max(2 ** -14, srgbToLinear(code / 255)));
      return display + answer.over(display);
    },
    errorStops,
    partlyGuessed: guessed > 0,
    lowest: quantile(codes, 0.01),
    highest: quantile(codes, 1),
  };
}

/** Paint that grows unlike the rest by so much at most tells by how much, nearly whatever the curve; error of that, and its part that grows with it. */
const BESIDE_REST = { most: 0.25, spread: 0.05, part: 0.3 };

/** Of paint of which nothing is noted: what it changed by, where it grows nearly as what reads alike and only follows the camera. */
function withPaint(told: Change, rows: readonly PairRow[]): Change {
  if (told.paint === null || told.paint.spread < FOLLOWED_SPREAD) return told;
  const more = paintOverRest(rows);
  if (more === null || Math.abs(more) > BESIDE_REST.most) return told;
  const spread = BESIDE_REST.spread + BESIDE_REST.part * Math.abs(more);
  return { ...told, paint: { stops: told.through + more, spread } };
}

/** Tries that lie no farther apart than this tell what the sky does by itself, whatever the curve; and what it must do to be told, stops. */
const SAME_EXPOSURE_STOPS = 0.5;
const OWN_CHANGE = { stops: 0.15, part: 0.6 };

/** Whether the sky keeps its light (no dusk, Moon or cloud), as far as tries of nearly one exposure show. */
function isSkySteady(tries: readonly ToneTry[]): boolean {
  return tries.every((one, n) =>
    tries.slice(n + 1).every((other) => {
      const through = changeBetween(one, other, null)?.through ?? Number.POSITIVE_INFINITY;
      if (Math.abs(through) > SAME_EXPOSURE_STOPS) return true;
      const grown = skyGrowth(one.sample, other.sample);
      return grown === null || Math.abs(grown - through) <= OWN_CHANGE.stops + OWN_CHANGE.part * Math.abs(through);
    }),
  );
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

/**
 * Where nothing went white, heights are told by what cameras' curves have in common (calibration/data/displayCurves.ts): one that grows flat
 * towards white has a shoulder, and all under it was lifted. A curve as even as sRGB over the codes that were shown may be sRGB itself, or a
 * camera's that is even there: half of what cameras' would be over it errs least, and the more, the more their stars tell.
 */
const GUESSED_HEIGHT = { stops: 0.25, evenStops: 0.33, evenPart: 0.5 };
/** By how much a camera's curve must fit better than sRGB, weighted stops squared: so much it always does, so much shows a curve of its own. */
const OWN_CURVE = [
  [2, 0],
  [5, 1],
] as const;

/** Half of the cameras' curves lie within a few of this of their middle; beyond, the tries contradict each other: the sky changed meanwhile. */
const MOST_UNLIKELY = 10;

/** `guessed`: error of the height, stops. */
function ownGuess(
  rows: readonly PairRow[],
  noted: readonly Noted[],
  hints: readonly CurveHint[],
): { answer: Answer | null; guessed: number } {
  const { stops, evenStops, evenPart } = GUESSED_HEIGHT;
  // What the tries alone tell says whether they contradict each other, and whether they show a curve of their own.
  const alone = solved(rows, [], noted, 'as cameras');
  const answer = hints.length === 0 ? alone : solved(rows, [], noted, 'as cameras', hints);
  const even = solved(rows, [], noted, 'sRGB');
  if (alone === null || answer === null || even === null || alone.unlikely > MOST_UNLIKELY)
    return { answer: null, guessed: evenStops };
  const own = Math.max(heightAt(OWN_CURVE, even.misfit - alone.misfit), ...hints.map(tellsOwnCurve));
  const part = evenPart + own * (1 - evenPart);
  return {
    answer: { ...answer, over: (display) => part * answer.over(display) },
    guessed: evenStops + own * (stops - evenStops),
  };
}

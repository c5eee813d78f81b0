import { quantile } from '../math/statistics.js';
import { REGION } from '../model/regions.js';
import type { ToneSample } from '../model/toneSample.js';
import { srgbToLinear } from '../physics/encoding.js';

/** What changed between two tries, stops. */
export interface Change {
  /** Sky, ambient light and all that burns through. */
  readonly through: number;
  /** The paint, as noted, and one standard deviation of that; null where it changed by another factor in each place. */
  readonly paint: { readonly stops: number; readonly spread: number } | null;
}

/** Places that read `dark` in the one try read `bright` in the other (medians; stops from white by sRGB). */
export interface PairRow {
  readonly dark: number;
  readonly bright: number;
  readonly painted: boolean;
  readonly through: number;
  readonly pair: number;
  readonly weight: number;
}

/** Places that read `at` in the darker try are just white in the brighter one: `white` is what just white means, stops. */
export interface Crossing {
  readonly at: number;
  readonly white: number;
  readonly painted: boolean;
  readonly through: number;
  readonly pair: number;
  readonly weight: number;
}

/** Reads the stored code as sRGB, stops from white. */
function stopsOfCodes(): Float32Array {
  stops ??= Float32Array.from({ length: 65536 }, (_, code) =>
    Math.log2(Math.max(2 ** -14, srgbToLinear(code / 65535))),
  );
  return stops;
}

/** Worked out at the first use: most commands need none. */
let stops: Float32Array | null = null;

/** Under this there is grain and rounding only; over this white has begun. */
const LOWEST = -9.5;
const HIGHEST = -0.05;
const BIN = 0.1;
const LEAST_IN_BIN = 8;
const MOST_WEIGHT = 60;

/**
 * Tries must lie this far apart in what is compared, stops. Codes may follow each other by less or more than the light, as the curve is
 * steep; places that do so by much less or more are lit by the other light too.
 */
const LEAST_APART = 0.6;
const STEEPNESS = { part: 0.45, stops: 0.3 };
/** Paint of which nothing is noted may have changed by this much besides. */
const UNNOTED = 1.2;

/** What the light of these places changed by; null where they tell nothing. */
function changeOf({ through, paint }: Change, painted: boolean): { stops: number; within: number } | null {
  if (!painted) return through < LEAST_APART ? null : { stops: through, within: withinOf(through) };
  if (paint === null) return null;
  if (paint.spread >= NOTHING_NOTED)
    return through < LEAST_APART ? null : { stops: paint.stops, within: UNNOTED + withinOf(paint.stops) };
  return paint.stops < LEAST_APART ? null : { stops: paint.stops, within: withinOf(paint.stops) };
}

/** Somebody who was told to paint 3.6 times as long does so about; one standard deviation, stops. */
export const FOLLOWED_SPREAD = 0.4;

/** What the paint changed by, of which nothing is noted, lies about what the camera's settings did; one standard deviation, stops. */
export const NOTHING_NOTED = 1.5;

/** Ambient light in the paint follows other changes than the lamps: paint so far over unlit ground holds a tenth of it at most. */
const OVER_UNLIT = 3;
const ALIKE = 0.4;

/** Stops (of the darker try, by sRGB) from which on painted places follow the paint. */
function paintedFrom(dark: ToneSample, { through, paint }: Change): number {
  if (paint === null || Math.abs(paint.stops - through) < ALIKE) return LOWEST;
  const stopsOf = stopsOfCodes();
  const unlit: number[] = [];
  for (let place = 0; place < dark.regions.length; place++)
    if (dark.regions[place] === REGION.unlit) unlit.push(stopsOf[dark.codes[place * 3 + 1]!]!);
  return unlit.length < LEAST_UNLIT ? LOWEST : quantile(unlit, 0.5) + OVER_UNLIT;
}

const LEAST_UNLIT = 200;

function withinOf(stops: number): number {
  return STEEPNESS.stops + STEEPNESS.part * Math.abs(stops);
}

/**
 * Places of one level that are lit by one lamp all change alike; where some are lit by a lamp that burnt through besides, they do not. Of
 * paint that nobody noted anything of that may be. Distance of the quarters, stops.
 */
const MIXED_STOPS = 0.15;

function isUnnoted({ paint }: Change): boolean {
  return paint !== null && paint.spread >= FOLLOWED_SPREAD;
}

function quartersApart(values: readonly number[]): number {
  return quantile(values, 0.75) - quantile(values, 0.25);
}

/**
 * Part of the darker try in the level that places are gathered by. Gathered by one try's level alone, its grain would pick the places: the
 * lightest would grow by too little, the darkest by too much. Shot noise in stops goes as the root of one over the light, so that this mixture
 * of both levels knows nothing of the grain in their difference.
 */
function darkPart(stops: number): number {
  return 1 / (1 + 2 ** Math.max(0, Math.min(4, stops)));
}

/** What is told of the paint, or of the rest: its change, the level it counts from, and the darker try's part in its levels. */
interface Side {
  readonly told: ReturnType<typeof changeOf>;
  readonly lowest: number;
  readonly part: number;
}

function sideOf(told: Side['told'], lowest: () => number): Side {
  return told === null ? { told, lowest: Infinity, part: 1 } : { told, lowest: lowest(), part: darkPart(told.stops) };
}

/** Of places that make a row, so many may have begun to go white. */
const MOST_WHITE = 0.1;

/** So many of the painted places may follow two lamps; with more, where paint turns white tells nothing. */
const MOST_MIXED = 0.3;

/** `mixed`: of the paint nothing is noted, and too much of it follows two lamps (or none of it tells). */
export function pairRows(
  dark: ToneSample,
  bright: ToneSample,
  change: Change,
  pair: number,
): { rows: PairRow[]; mixed: boolean } {
  const rest = sideOf(changeOf(change, false), () => LOWEST);
  const paint = sideOf(changeOf(change, true), () => paintedFrom(dark, change));
  if (rest.told === null && paint.told === null) return { rows: [], mixed: true };
  const bins = new Map<number, { grown: number[]; white: number }>();
  each(dark, bright, (from, to, painted) => {
    const { lowest, part } = painted ? paint : rest;
    if (from < lowest - BIN) return;
    const key = Math.round((part * from + (1 - part) * to) / BIN) * 2 + (painted ? 1 : 0);
    let own = bins.get(key);
    if (own === undefined) bins.set(key, (own = { grown: [], white: 0 }));
    own.grown.push(to - from);
    if (to > HIGHEST) own.white++;
  });
  const places = { apart: 0, mixed: 0 };
  const rows = [...bins].flatMap(([key, { grown, white }]): PairRow[] => {
    if (grown.length < LEAST_IN_BIN || white > MOST_WHITE * grown.length) return [];
    const painted = (key & 1) === 1;
    const { told, lowest, part } = painted ? paint : rest;
    const middle = quantile(grown, 0.5);
    if (told === null || Math.abs(middle - told.stops) > told.within) return [];
    if (painted && isUnnoted(change)) {
      const isMixed = quartersApart(grown) > MIXED_STOPS;
      places[isMixed ? 'mixed' : 'apart'] += grown.length;
      if (isMixed) return [];
    }
    const from = ((key - (painted ? 1 : 0)) / 2) * BIN - (1 - part) * middle;
    if (from < lowest) return [];
    const weight = Math.min(MOST_WEIGHT, Math.sqrt(grown.length));
    return [{ dark: from, bright: from + middle, painted, through: change.through, pair, weight }];
  });
  const { apart, mixed } = places;
  return { rows, mixed: isUnnoted(change) && (apart === 0 || mixed > MOST_MIXED * (apart + mixed)) };
}

/**
 * How much more painted places grew than other places that read alike in the darker try, stops by sRGB (middle of them). By any curve it is nearly
 * the light's own where it is small. Null where hardly any read alike.
 */
export function paintOverRest(rows: readonly PairRow[]): number | null {
  const rest = rows.filter(({ painted }) => !painted);
  const more = rows.flatMap(({ painted, dark, bright }) => {
    if (!painted || rest.length === 0) return [];
    const near = rest.reduce((best, own) => (Math.abs(own.dark - dark) < Math.abs(best.dark - dark) ? own : best));
    return Math.abs(near.dark - dark) > BIN ? [] : [bright - dark - (near.bright - near.dark)];
  });
  return more.length < LEAST_ALIKE ? null : quantile(more, 0.5);
}

const LEAST_ALIKE = 5;

/** Middle change of what the sky's places read, stops by sRGB; null where the tries share no sky. */
export function skyGrowth(one: ToneSample, other: ToneSample): number | null {
  if (one.codes.length !== other.codes.length) return null;
  const stopsOf = stopsOfCodes();
  const grown: number[] = [];
  for (let place = 0; place < one.regions.length; place++) {
    if (one.regions[place] !== REGION.sky || other.regions[place] !== REGION.sky) continue;
    const [from, to] = [stopsOf[one.codes[place * 3 + 1]!]!, stopsOf[other.codes[place * 3 + 1]!]!];
    if (Math.min(from, to) > LOWEST && Math.max(from, to) < HIGHEST) grown.push(to - from);
  }
  return grown.length < LEAST_SKY ? null : quantile(grown, 0.5);
}

const LEAST_SKY = 200;

/** White begins within this of code 255, and light there is this far under sensor white: the shoulder is soft, grain goes both ways. */
const WHITE = Math.log2(0.993);
const WHITE_STOPS = -0.03;
const STEP = 0.05;
const DEEPEST = -7;
const STEPS = Math.round(-DEEPEST / STEP);
/** Places on either side of the crossing, within half a stop, that make it sound. */
const LEAST_BESIDE = 60;
/** And so many of them, at most, may lie on the wrong side. */
const MOST_WRONG = 0.4;
const BESIDE = Math.round(0.5 / STEP);

/** The reading that best parts places white in the brighter try from those that are not: one for the paint, one for the rest. */
export function crossings(dark: ToneSample, bright: ToneSample, change: Change, pair: number): Crossing[] {
  const { through } = change;
  return [false, true].flatMap((painted) => {
    if (changeOf(change, painted) === null) return [];
    const white = new Float64Array(STEPS);
    const under = new Float64Array(STEPS);
    each(dark, bright, (from, to, own) => {
      if (own !== painted || from < DEEPEST) return;
      const step = Math.min(STEPS - 1, Math.floor((from - DEEPEST) / STEP));
      if (to >= WHITE) white[step]!++;
      else under[step]!++;
    });
    const edge = bestEdge(white, under);
    const whiteBeside = sum(white, edge, edge + BESIDE);
    const underBeside = sum(under, edge - BESIDE, edge);
    if (edge <= 0 || edge >= STEPS - 1 || whiteBeside < LEAST_BESIDE || underBeside < LEAST_BESIDE) return [];
    const wrongWhite = sum(white, edge - BESIDE, edge);
    const wrongUnder = sum(under, edge, edge + BESIDE);
    const isSound = (wrong: number, right: number): boolean => wrong <= MOST_WRONG * (wrong + right);
    if (!isSound(wrongWhite, underBeside) || !isSound(wrongUnder, whiteBeside)) return [];
    const weight = Math.min(1, Math.min(whiteBeside, underBeside) / 400);
    return [{ at: DEEPEST + edge * STEP, white: WHITE_STOPS, painted, through, pair, weight }];
  });
}

/** The step from which on places count as white, with the fewest wrongly placed. */
function bestEdge(white: Float64Array, under: Float64Array): number {
  let wrong = sum(under, 0, STEPS);
  let best = { edge: 0, wrong };
  for (let edge = 1; edge <= STEPS; edge++) {
    wrong += white[edge - 1]! - under[edge - 1]!;
    if (wrong < best.wrong) best = { edge, wrong };
  }
  return best.edge;
}

function sum(values: Float64Array, from: number, to: number): number {
  let total = 0;
  for (let n = Math.max(0, from); n < Math.min(values.length, to); n++) total += values[n]!;
  return total;
}

/** Every channel of every place that is of one kind in both tries; sources and what changes sides are left out. */
function each(dark: ToneSample, bright: ToneSample, visit: (from: number, to: number, painted: boolean) => void): void {
  const stopsOf = stopsOfCodes();
  for (let place = 0; place < dark.regions.length; place++) {
    const region = dark.regions[place]!;
    if (region !== bright.regions[place] || region === REGION.source) continue;
    const painted = region === REGION.painted;
    for (let c = place * 3; c < place * 3 + 3; c++)
      visit(stopsOf[dark.codes[c]!]!, stopsOf[bright.codes[c]!]!, painted);
  }
}

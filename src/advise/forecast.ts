import type { Headroom, LandLevels } from '../model/reading.js';
import type { Facts } from './facts.js';

interface PaintForecast {
  /** Painted median after the change, stops. */
  readonly stops: number;
  /** Painted area after the change over that of now. */
  readonly areaRatio: number;
}

/** Painted median and area as functions of log2(lamp gain / gain of everything else), from `LEAST` up in steps. */
interface PaintCurve {
  readonly medians: readonly number[];
  readonly areas: readonly number[];
}

const LEAST = -10;
const MOST = 10;
const STEPS_PER_STOP = 8;

/**
 * Foretells the painted median when lamps give `gain` times and everything else `through` times the light. Painted land is where
 * lamp light is the greater part, so a dimmer lamp paints less land: the brighter part of it. Null when nothing is painted.
 * Doubling both doubles everything, so one curve over their ratio is enough; it is worked out once.
 */
export class PaintForecaster {
  readonly #paintedStops: number | null;
  readonly #now: { median: number; area: number } | null;
  readonly #curve: PaintCurve;

  constructor({ paintedStops, landLevels }: Facts) {
    this.#paintedStops = paintedStops;
    this.#now = landLevels === null || paintedStops === null ? null : paintedPart(landLevels, 1);
    this.#curve = landLevels === null || this.#now === null ? NO_CURVE : curveOf(landLevels, this.#now);
  }

  after(through: number, gain: number): PaintForecast | null {
    if (this.#paintedStops === null) return null;
    if (this.#now === null) return { stops: this.#paintedStops + Math.log2(gain), areaRatio: 1 };
    const { medians, areas } = this.#curve;
    const place = Math.max(0, Math.min(medians.length - 1.001, (Math.log2(gain / through) - LEAST) * STEPS_PER_STOP));
    return {
      stops: this.#paintedStops + Math.log2(through) + between(medians, place) - this.#now.median,
      areaRatio: between(areas, place) / this.#now.area,
    };
  }
}

const NO_CURVE: PaintCurve = { medians: [], areas: [] };

/** Straight between two places of a list. */
function between(list: readonly number[], place: number): number {
  const low = Math.floor(place);
  return list[low]! + (list[low + 1]! - list[low]!) * (place - low);
}

function curveOf(land: LandLevels, now: { median: number; area: number }): PaintCurve {
  const medians: number[] = [];
  const areas: number[] = [];
  // From bright to dim: where no paint is left, its middle is that of the last that was.
  let last = { median: now.median, area: LEAST_AREA };
  for (let n = (MOST - LEAST) * STEPS_PER_STOP; n >= 0; n--) {
    last = paintedPart(land, 2 ** (LEAST + n / STEPS_PER_STOP)) ?? { median: last.median, area: LEAST_AREA };
    medians[n] = last.median;
    areas[n] = last.area;
  }
  keepRising(medians);
  return { medians, areas };
}

/** More lamp light brightens the middle of the paint by this part of itself at least, however much dark land it wins. */
const LEAST_RISE = 0.25;

/**
 * Land of two brightnesses that drops out of the count, or joins it, moves the middle of the paint against the lamp's change, at a place that is
 * told roughly: the fall and the rise are shared out (on 72 scenes of src/scene the worst twentieth of forecasts for double the light came
 * from 0.9 to 0.4 stop).
 */
function keepRising(medians: number[]): void {
  const now = -LEAST * STEPS_PER_STOP;
  const lit = medians[now]!;
  pooled(medians.slice(0, now + 1)).forEach((stops, n) => (medians[n] = Math.min(lit, stops)));
  medians[now] = lit;
  for (let n = now + 1; n < medians.length; n++)
    medians[n] = Math.max(medians[n]!, medians[n - 1]! + LEAST_RISE / STEPS_PER_STOP);
}

/** The nearest list that never falls: neighbours that fall are levelled to their mean (pool adjacent violators, Ayer and others 1955). */
function pooled(list: readonly number[]): number[] {
  const pools: { mean: number; count: number }[] = [];
  for (const value of list) {
    let pool = { mean: value, count: 1 };
    for (let last = pools.at(-1); last !== undefined && last.mean > pool.mean; last = pools.at(-1)) {
      pools.pop();
      const count = last.count + pool.count;
      pool = { mean: (last.mean * last.count + pool.mean * pool.count) / count, count };
    }
    pools.push(pool);
  }
  return pools.flatMap(({ mean, count }) => new Array<number>(count).fill(mean));
}

/** Less of the land than this is no paint. */
const LEAST_AREA = 1e-3;

/** The painted part of the land when lamps give `gain` times their light and everything else stays. */
function paintedPart(
  { lowestStops, stepStops, shares, levelStops }: LandLevels,
  gain: number,
): { median: number; area: number } | null {
  const lit: { stops: number; share: number }[] = [];
  let area = 0;
  shares.forEach((share, n) => {
    const level = levelStops[n] ?? null;
    if (share === 0 || level === null) return;
    const ratio = 2 ** (lowestStops + (n + 0.5) * stepStops);
    // The threshold rises over a factor of two, since neither light is one number.
    const part = Math.max(0, Math.min(1, 0.5 + Math.log2(ratio * gain)));
    if (part === 0) return;
    lit.push({ stops: level + Math.log2((ratio * gain + 1) / (ratio + 1)), share: share * part });
    area += share * part;
  });
  if (area < LEAST_AREA) return null;
  lit.sort((a, b) => a.stops - b.stops);
  let below = 0;
  for (const { stops, share } of lit) {
    if (below + share >= area / 2)
      return { median: stops - stepStops / 2 + (stepStops * (area / 2 - below)) / share, area };
    below += share;
  }
  return null;
}

/** Fraction of the painted pixels that clip when paint changes by `stops`. */
export function clippedAfter(headroom: Headroom | null, stops: number): number {
  if (headroom === null) return 0;
  const list = stops < 0 ? headroom.fractionOver : headroom.fractionAbove;
  const place = Math.min(list.length - 1, Math.abs(stops) * 4);
  const low = Math.floor(place);
  const high = Math.min(list.length - 1, low + 1);
  return list[low]! + (list[high]! - list[low]!) * (place - low);
}

/** Of the span of the paint (its brightest half percent over its middle, stops) this part beyond this much comes from the lamp's nearness. */
const NEARNESS = { part: 0.7, beyondStops: 0.5 };
const MOST_NEAR_STOPS = 2.8;
/** The middle of the paint is lit by the same lamp: of the inverse square it is spared this part at most (40 to 50 % where it was looked at). */
const MOST_OF_INVERSE_SQUARE = 0.5;

/**
 * A lamp moved away keeps its inverse square where it is nearest; the middle of the paint, farther off, dims less, by as much as the
 * highlights stand out less. They stand out by a part that falls as distance^-1.5 (nearer: grows as distance^-0.9), fitted on 52 scenes of
 * src/scene with one lamp moved to 0.67, 1.5, 2 and 2.5 times its distance, spans 1.4 to 7 stops; half of them lie within 0.3 stop.
 */
export function flatteningOf(headroom: Headroom | null): (times: number) => number {
  const span = headroom === null ? 0 : highlightsOver(headroom);
  const near = Math.max(0, Math.min(MOST_NEAR_STOPS, NEARNESS.part * (span - NEARNESS.beyondStops)));
  return (times) => {
    const most = MOST_OF_INVERSE_SQUARE * 2 * Math.log2(times);
    const flattened = near * (1 - times ** (times > 1 ? -1.5 : -0.9));
    return Math.abs(flattened) < Math.abs(most) ? flattened : most;
  };
}

/** The brightest half percent of the paint over its median, stops. */
function highlightsOver({ fractionAbove, fractionOver, medianStops }: Headroom): number {
  const over = fractionOver.findIndex((fraction) => fraction < TOP);
  if (over > 0) return over / 4 - medianStops;
  const n = fractionAbove.findIndex((fraction) => fraction >= TOP);
  return n < 0 ? 0 : -n / 4 - medianStops;
}

const TOP = 0.005;

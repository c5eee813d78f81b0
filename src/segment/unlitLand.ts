import { median } from '../math/statistics.js';

/** Light of the foreground's blocks, each averaged over its neighbours in the foreground. */
export interface CalmLand {
  /** log2 luminance and log2(R/B) of each block. */
  readonly level: Float32Array;
  readonly warmth: Float32Array;
  /** Every few foreground blocks, for statistics. */
  readonly sample: number[];
}

/** Level (stops) and log2(R/B) of land that ambient light alone lights. */
export interface UnlitLand {
  readonly level: number;
  readonly warmth: number;
}

/** Ambient light lies at least so far under the sky, stops: land returns a third of it at most (Moon and twilight are told elsewhere). */
const UNDER_SKY_STOPS = 1.6;

/** Land about a level, over land well above it, that makes a cluster: counted from the darkest up, and in the midst of all land. */
const CLUSTER = { darkest: 1.3, amidst: 1.8 };
const LEAST_PART = 0.08;
const LEAST_BLOCKS = 20;

/** Lighter land of a cluster is warmer than its darker land by this part of the way to lamp light, at most. */
const TURNS = 0.12;
const LEAST_WAY = 1.2;

/** Steps up at most: they shorten towards the middle of a cluster. */
const ROUNDS = 30;

/**
 * Level (stops) and log2(R/B) of land that ambient light alone lights. Its reflectances spread over stops, so that its darkest land says too
 * little: what counts is the middle of the lowest cluster of levels. Dimly lit land makes a cluster too, but turns to the lamp's colour as it
 * gets lighter (`lamp`: log2(R/B) of the brightest land, null where it says nothing). Looked for from the level `from` up; null where none is.
 */
export function unlitLand(
  { level, warmth, sample }: CalmLand,
  from: number,
  skyLevel: number | null,
  lamp: number | null,
): UnlitLand | null {
  const highest = (skyLevel ?? -Infinity) - UNDER_SKY_STOPS;
  if (from > highest) return null;
  const order = [...sample].sort((a, b) => level[a]! - level[b]!);
  const levels = Float32Array.from(order, (i) => level[i]!);
  const warmths = Float32Array.from(order, (i) => warmth[i]!);
  const under = (limit: number): number => firstFrom(levels, limit);
  const turns = (at: number): boolean => {
    const [low, from, to] = [under(at - 0.1), under(at + 0.2), under(at + 0.8)];
    if (low < LEAST_BLOCKS || to - from < LEAST_BLOCKS) return true;
    if (lamp === null) return false;
    const [cool, warm] = [median(warmths.subarray(0, low)), median(warmths.subarray(from, to))];
    // Land warmer than lamp light makes it is so by itself.
    return warm - cool > TURNS * Math.max(LEAST_WAY, lamp - cool) && warm < lamp;
  };
  const isCluster = (at: number, amidst: boolean): boolean => {
    const near = under(at + 0.6) - (amidst ? under(at - 0.8) : 0);
    const above = under(at + 2) - under(at + 0.8);
    return near >= LEAST_PART * levels.length && near >= (amidst ? CLUSTER.amidst : CLUSTER.darkest) * above;
  };
  let at = from;
  // Up to the middle of all that is as dark or darker; where that is no cluster, on from there to where levels lie densest.
  let amidst = false;
  for (let n = 0; n < ROUNDS; n++) {
    const about = levels.subarray(amidst ? under(at - 1) : 0, under(at + 1));
    const next = Math.min(highest, median(about));
    if (next > at + 0.02) {
      at = next;
      if (turns(at)) return null;
    } else if (at > from && isCluster(at, amidst))
      return { level: at, warmth: median(warmths.subarray(0, under(at + 0.7))) };
    else if (amidst) return null;
    else amidst = true;
  }
  return null;
}

/** The first place of an ascending list that holds `limit` or more, by halving. */
function firstFrom(ascending: Float32Array, limit: number): number {
  let low = 0;
  let high = ascending.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (ascending[middle]! < limit) low = middle + 1;
    else high = middle;
  }
  return low;
}

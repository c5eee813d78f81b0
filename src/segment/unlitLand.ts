import { median, quantile } from '../math/statistics.js';

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

/** Log odds of land unlit beyond doubt, sampled blocks, and their part of the land. */
const SURELY_UNLIT = { below: -1.5, blocks: 50, part: 0.02 };

/**
 * Unlit land holds lamp light too, up to as much as ambient light, and the more the less of it there is: ambient light lies between the
 * middle and the darkest tenth of it, and is drawn towards what the sky usually leaves. Fitted on some 170 drawn frames of five makings; on 31 of
 * another that it did not know it is wrong by 0.4, 1.0 and 1.5 stops (median, worst quarter, worst tenth), the middle alone by 0.5, 1.5 and 2.6.
 */
const LAMP_LIGHT_IN_IT = { towardsDarkest: 0.3, halfwayAtPart: 0.05 };

/** Ambient light under the sky, stops: of an open starlit one, and of one that the Moon has made blue (log2 R/B, from the one to the other). */
const USUALLY_UNDER_SKY = { starlit: 3.5, moonlit: 0.5, starlitFrom: -0.9, moonlitTo: -1.3 };

/** No ambient light makes land so much brighter than the sky, stops: of a starlit one (town light may come from elsewhere), and of a moonlit one. */
const MOST_OVER_SKY = { starlit: 0.5, moonlit: 1.6 };

function bySky({ starlit, moonlit }: { starlit: number; moonlit: number }, skyWarmth: number): number {
  const { starlitFrom, moonlitTo } = USUALLY_UNDER_SKY;
  const blue = Math.max(0, Math.min(1, (skyWarmth - starlitFrom) / (moonlitTo - starlitFrom)));
  return starlit + (moonlit - starlit) * blue;
}

/** Land that the network takes for unlit beyond doubt, in its middle, and the ambient light on it; null where there is next to none. */
export function surelyUnlit(
  { level, warmth, sample }: CalmLand,
  seen: Float32Array,
  sky: { readonly level: number; readonly warmth: number } | null,
): (UnlitLand & { readonly ambientStops: number }) | null {
  const highest = sky === null ? Infinity : sky.level + bySky(MOST_OVER_SKY, sky.warmth);
  const own = sample.filter((i) => seen[i]! < SURELY_UNLIT.below && level[i]! < highest);
  if (own.length < Math.max(SURELY_UNLIT.blocks, SURELY_UNLIT.part * sample.length)) return null;
  const levels = own.map((i) => level[i]!);
  const middle = median(levels);
  const { towardsDarkest, halfwayAtPart } = LAMP_LIGHT_IN_IT;
  const calm = middle + towardsDarkest * (quantile(levels, 0.1) - middle);
  const over = sky === null ? 0 : Math.max(0, calm - (sky.level - bySky(USUALLY_UNDER_SKY, sky.warmth)));
  const little = halfwayAtPart / (halfwayAtPart + own.length / sample.length);
  return { level: middle, warmth: median(own.map((i) => warmth[i]!)), ambientStops: calm - little * over };
}

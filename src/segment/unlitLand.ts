import { quantile } from '../math/statistics.js';

/** Light of the foreground's blocks, each averaged over its neighbours in the foreground. */
export interface CalmLand {
  /** log2 luminance and log2(R/B) of each block. */
  readonly level: Float32Array;
  readonly warmth: Float32Array;
  /** Every few foreground blocks, for statistics. */
  readonly sample: number[];
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
): { readonly level: number; readonly warmth: number } | null {
  const highest = (skyLevel ?? -Infinity) - UNDER_SKY_STOPS;
  if (from > highest) return null;
  const under = (limit: number): number[] => sample.filter((i) => level[i]! < limit);
  const middleOf = (plane: Float32Array, blocks: readonly number[]): number =>
    quantile(
      blocks.map((i) => plane[i]!),
      0.5,
    );
  const turns = (at: number): boolean => {
    const about = under(at + 0.8);
    const low = about.filter((i) => level[i]! < at - 0.1);
    const high = about.filter((i) => level[i]! > at + 0.2);
    if (low.length < LEAST_BLOCKS || high.length < LEAST_BLOCKS) return true;
    if (lamp === null) return false;
    const [cool, warm] = [middleOf(warmth, low), middleOf(warmth, high)];
    // Land warmer than lamp light makes it is so by itself.
    return warm - cool > TURNS * Math.max(LEAST_WAY, lamp - cool) && warm < lamp;
  };
  const isCluster = (at: number, amidst: boolean): boolean => {
    const near = under(at + 0.6).length - (amidst ? under(at - 0.8).length : 0);
    const above = under(at + 2).length - under(at + 0.8).length;
    return near >= LEAST_PART * sample.length && near >= (amidst ? CLUSTER.amidst : CLUSTER.darkest) * above;
  };
  let at = from;
  // Up to the middle of all that is as dark or darker; where that is no cluster, on from there to where levels lie densest.
  let amidst = false;
  for (let n = 0; n < ROUNDS; n++) {
    const lowest = amidst ? at - 1 : -Infinity;
    const about = under(at + 1).filter((i) => level[i]! > lowest);
    const next = Math.min(highest, middleOf(level, about));
    if (next > at + 0.02) {
      at = next;
      if (turns(at)) return null;
    } else if (at > from && isCluster(at, amidst)) return { level: at, warmth: middleOf(warmth, under(at + 0.7)) };
    else if (amidst) return null;
    else amidst = true;
  }
  return null;
}

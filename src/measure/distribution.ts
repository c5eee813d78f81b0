import { quickLog2 } from '../math/quickLog2.js';
import type { Distribution } from '../model/distribution.js';
import { REGION, type Grid } from '../model/regions.js';

const LOWEST = -12;
const STEP = 0.25;
const BINS = -LOWEST / STEP + 1;

/** Spread of block light in sky, painted and unlit ground, quarter stops from -12 to clipping. A region without blocks has zeros. */
export function measureDistribution({ luminance }: Grid, mask: Uint8Array): Distribution {
  const of = (region: number): number[] => {
    const counts = new Array<number>(BINS).fill(0);
    let all = 0;
    for (let i = 0; i < mask.length; i++) {
      if (mask[i] !== region) continue;
      const stops = quickLog2(Math.max(2 ** LOWEST, luminance[i]!));
      counts[Math.max(0, Math.min(BINS - 1, Math.round((stops - LOWEST) / STEP)))]!++;
      all++;
    }
    return counts.map((count) => (all === 0 ? 0 : Number((count / all).toFixed(5))));
  };
  return {
    lowestStops: LOWEST,
    stepStops: STEP,
    sky: of(REGION.sky),
    painted: of(REGION.painted),
    unlit: of(REGION.unlit),
  };
}

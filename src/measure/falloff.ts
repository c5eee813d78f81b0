import { boxBlur, rowsAround } from '../math/raster.js';
import { quickLog2 } from '../math/quickLog2.js';
import { quantile } from '../math/statistics.js';
import type { Falloff } from '../model/reading.js';
import { REGION, type Grid } from '../model/regions.js';

const DARKEST = 2 ** -15;

/** How uneven the paint is, smoothed over texture; null when too little is painted to say. */
export function measureFalloff(grid: Grid, mask: Uint8Array): Falloff | null {
  const { width } = grid;
  const radius = Math.max(2, Math.round(width / 90));
  const { from, to } = rowsAround(mask, width, REGION.painted, radius);
  const first = from * width;
  const weight = new Float32Array((to - from) * width);
  const light = new Float32Array(weight.length);
  for (let i = 0; i < light.length; i++) {
    if (mask[first + i] !== REGION.painted) continue;
    weight[i] = 1;
    light[i] = grid.luminance[first + i]!;
  }
  const support = boxBlur(weight, width, to - from, radius);
  const calm = boxBlur(light, width, to - from, radius);
  const levels: number[] = [];
  let hot = -Infinity;
  let hotAt = 0;
  for (let i = 0; i < calm.length; i += 3) {
    if (weight[i] === 0 || support[i]! < 0.3) continue;
    const level = quickLog2(Math.max(DARKEST, calm[i]! / support[i]!));
    levels.push(level);
    if (level > hot) {
      hot = level;
      hotAt = first + i;
    }
  }
  if (levels.length < 60) return null;
  return {
    rangeStops: round(quantile(levels, 0.95) - quantile(levels, 0.05)),
    hotSpot: { x: (hotAt % width) * grid.blockPx, y: Math.floor(hotAt / width) * grid.blockPx },
    hotSpotOverMedianStops: round(hot - quantile(levels, 0.5)),
  };
}

function round(value: number): number {
  return Number(value.toFixed(2));
}

import { quickLog2 } from '../math/quickLog2.js';
import { median } from '../math/statistics.js';
import type { GroundProfile } from '../model/distribution.js';
import { REGION, type Grid } from '../model/regions.js';

const RINGS = 16;
const LEAST_BLOCKS = 25;

/** Painted light in rings about a place (upright pixels), against a lamp over flat ground. Null with fewer than four rings. */
export function measureGroundProfile(
  { width, height, blockPx, luminance }: Grid,
  mask: Uint8Array,
  hotSpot: { readonly x: number; readonly y: number },
): GroundProfile | null {
  const hx = hotSpot.x / blockPx;
  const hy = hotSpot.y / blockPx;
  const most = 0.6 * width;
  const levels: number[][] = Array.from({ length: RINGS }, () => []);
  for (let y = 0; y < height; y += 2)
    for (let x = 0; x < width; x += 2) {
      const i = y * width + x;
      if (mask[i] !== REGION.painted || luminance[i]! <= 0) continue;
      const ring = Math.floor((Math.hypot(x - hx, y - hy) / most) * RINGS);
      if (ring < RINGS) levels[ring]!.push(quickLog2(luminance[i]!));
    }
  const known = levels
    .map((own, n) => ({ radius: ((n + 0.5) * most) / RINGS / width, own }))
    .filter(({ own }) => own.length >= LEAST_BLOCKS);
  if (known.length < 4) return null;
  const first = median(known[0]!.own);
  const rings = known.map(({ radius, own }) => ({
    radius: Number(radius.toFixed(4)),
    stops: Number((median(own) - first).toFixed(2)),
  }));
  return { rings, lampHeight: heightOf(rings) };
}

/** Of heights from a fiftieth of the width to twice the width, the one whose fall is nearest (least absolute misses). */
function heightOf(rings: GroundProfile['rings']): number | null {
  let best = { height: 0, miss: Number.POSITIVE_INFINITY };
  const start = rings[0]!.radius;
  for (let step = 0; step <= 60; step++) {
    const height = 0.02 * 100 ** (step / 60);
    const level = (radius: number): number => -1.5 * Math.log2(1 + (radius / height) ** 2);
    const miss = rings.reduce((sum, { radius, stops }) => sum + Math.abs(level(radius) - level(start) - stops), 0);
    if (miss < best.miss) best = { height, miss };
  }
  return best.height >= 1.99 ? null : Number(best.height.toFixed(3));
}

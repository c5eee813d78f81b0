import { bestShift, type BestShift } from '../math/bestShift.js';
import type { Glance } from '../model/night.js';
import { REGION } from '../model/regions.js';

/** A nudge of the tripod head, cells either way, still is the same framing. */
const NUDGE = 2;

/** Skies that overlap by more than this say little more: many horizons are alike. */
const OVERLAP_FROM = 0.9;
const OVERLAP_TO = 0.96;
const OVERLAP_WORTH = 0.2;

/** Squares of 2 x 2 cells that are sky in one and ground in the other: a figure, a rock, a tree that only one has. From so many on, to none left of the worth. */
const UNLIKE_FROM = 4;
const UNLIKE_TO = 16;

/**
 * How alike two framings are, about 0 to 1.2: correlation of what stands on the ground, whatever lights it, and a little for the same
 * skyline. On scenes, different framings stay under 0.34 and the same framing in other light mostly above.
 */
export function likeness(one: Glance, other: Glance): number {
  if (one.width !== other.width || one.height !== other.height) return 0;
  const [a, b] = [detail(one), detail(other)];
  let best = 0;
  for (let dy = -NUDGE; dy <= NUDGE; dy++)
    for (let dx = -NUDGE; dx <= NUDGE; dx++) {
      const { overlap, together, unlike } = compare(one, other, a, b, dx, dy);
      const skyline = within((overlap - OVERLAP_FROM) / (OVERLAP_TO - OVERLAP_FROM));
      const standing = within((UNLIKE_TO - unlike) / (UNLIKE_TO - UNLIKE_FROM));
      best = Math.max(best, together + OVERLAP_WORTH * skyline * standing);
    }
  return best;
}

function within(part: number): number {
  return Math.max(0, Math.min(1, part));
}

/** Moves of the ground looked for, cells either way. */
const REACH = 4;

/**
 * How far the ground has moved between two frames in other light, cells of the glance. A lamp on another side moves shading and shadows, but not
 * the skyline: `withSkyline` tells whether that lies better, or as well, where the ground has moved to.
 */
export function shiftBetween(one: Glance, other: Glance): BestShift & { readonly withSkyline: boolean } {
  const [a, b] = [detail(one), detail(other)];
  const shift = bestShift((dx, dy) => compare(one, other, a, b, dx, dy).together, REACH);
  const overlap = (dx: number, dy: number): number => compare(one, other, a, b, dx, dy).overlap;
  return {
    ...shift,
    withSkyline: overlap(Math.round(shift.dx), Math.round(shift.dy)) >= overlap(0, 0) - SKYLINE_UNREST,
  };
}

/** Overlap of two skies under one skyline changes by this much from frame to frame. */
const SKYLINE_UNREST = 0.001;

/**
 * Light over its surroundings in units of their unrest: edges and textures stay when lamps change. Without what a whole row has in common: level
 * horizons, and light that falls off with distance, are alike everywhere.
 */
function detail({ width, height, light, regions }: Glance): Float32Array {
  const out = new Float32Array(light.length);
  for (let y = 0; y < height; y++)
    for (let x = 0; x < width; x++) {
      let sum = 0;
      let squares = 0;
      let count = 0;
      for (let ny = Math.max(0, y - 2); ny <= Math.min(height - 1, y + 2); ny++)
        for (let nx = Math.max(0, x - 2); nx <= Math.min(width - 1, x + 2); nx++) {
          const value = light[ny * width + nx]!;
          sum += value;
          squares += value * value;
          count++;
        }
      const mean = sum / count;
      const spread = Math.sqrt(Math.max(0, squares / count - mean * mean)) + 8;
      out[y * width + x] = (light[y * width + x]! - mean) / spread;
    }
  for (let from = 0; from < out.length; from += width) {
    let sum = 0;
    let count = 0;
    for (let i = from; i < from + width; i++) {
      if (regions[i] === REGION.sky) continue;
      sum += out[i]!;
      count++;
    }
    if (count > 0) for (let i = from; i < from + width; i++) out[i]! -= sum / count;
  }
  return out;
}

/**
 * Overlap of the skies (intersection over union), correlation of detail where either frame has ground, and squares that are sky in one of
 * them and ground in the other.
 */
function compare(
  one: Glance,
  other: Glance,
  a: Float32Array,
  b: Float32Array,
  dx: number,
  dy: number,
): { overlap: number; together: number; unlike: number } {
  const { width, height } = one;
  let both = 0;
  let either = 0;
  let ab = 0;
  let aa = 0;
  let bb = 0;
  let unlike = 0;
  const differs = (i: number, j: number): boolean =>
    (one.regions[i] === REGION.sky) !== (other.regions[j] === REGION.sky);
  for (let y = Math.max(0, -dy); y < Math.min(height, height - dy); y++)
    for (let x = Math.max(0, -dx); x < Math.min(width, width - dx); x++) {
      const i = y * width + x;
      const j = (y + dy) * width + x + dx;
      const skyOne = one.regions[i] === REGION.sky;
      const skyOther = other.regions[j] === REGION.sky;
      if (skyOne || skyOther) either++;
      const inside = x > 0 && x + dx > 0 && y > 0 && y + dy > 0;
      if (inside && skyOne !== skyOther && differs(i - 1, j - 1) && differs(i - width, j - width))
        if (differs(i - width - 1, j - width - 1)) unlike++;
      if (skyOne && skyOther) {
        both++;
        continue;
      }
      ab += a[i]! * b[j]!;
      aa += a[i]! * a[i]!;
      bb += b[j]! * b[j]!;
    }
  return { overlap: either === 0 ? 1 : both / either, together: ab / Math.sqrt(Math.max(1e-9, aa * bb)), unlike };
}

import type { Grid } from '../../model/regions.js';
import type { Detection } from '../stars/detect.js';

/** A point of light in the sky: the middle of a star or of its trail, upright pixels. */
export interface StarPoint {
  readonly x: number;
  readonly y: number;
  /** All its light over the sky's, linear. */
  readonly flux: number;
  /**
   * Its light over the roots of its area and of the sky beside it: neither wide faint wisps of cloud nor a dark corner of the lens put a
   * point out of its place among the others.
   */
  readonly contrast: number;
}

/** A point's footprint: blocks above this part of its peak, no more of them than this. */
const FOOT = 0.2;
const MOST_BLOCKS = 160;

const MOST_POINTS = 400;

/** Stars by contrast, trails as one point each. Light spread wider than any star (cloud, glow, the Moon) is left out. */
export function starPoints(grid: Grid, { candidates, background, noise }: Detection): StarPoint[] {
  const { width, height, luminance, blockPx } = grid;
  const taken = new Uint8Array(width * height);
  const points: StarPoint[] = [];
  for (const { bx, by } of candidates) {
    const start = by * width + bx;
    if (taken[start] === 1) continue;
    const level = luminance[start]! - background[start]!;
    const least = Math.max(FOOT * level, 3 * noise * Math.sqrt(Math.max(1e-6, background[start]!)));
    const members = [start];
    taken[start] = 1;
    let sum = 0;
    let sx = 0;
    let sy = 0;
    for (let n = 0; n < members.length && n < MOST_BLOCKS; n++) {
      const i = members[n]!;
      const x = i % width;
      const y = (i - x) / width;
      const light = luminance[i]! - background[i]!;
      sum += light;
      sx += light * x;
      sy += light * y;
      for (let dy = -1; dy <= 1; dy++)
        for (let dx = -1; dx <= 1; dx++) {
          const to = i + dy * width + dx;
          if (x + dx < 0 || x + dx >= width || y + dy < 0 || y + dy >= height || taken[to] === 1) continue;
          if (background[to]! <= 0 || luminance[to]! - background[to]! < least) continue;
          taken[to] = 1;
          members.push(to);
        }
    }
    if (members.length >= MOST_BLOCKS) continue;
    points.push({
      x: (sx / sum) * blockPx + (blockPx - 1) / 2,
      y: (sy / sum) * blockPx + (blockPx - 1) / 2,
      flux: sum,
      contrast: sum / Math.sqrt(members.length * Math.max(1e-6, background[start]!)),
    });
    if (points.length >= 4 * MOST_POINTS) break;
  }
  return points.sort((a, b) => b.contrast - a.contrast).slice(0, MOST_POINTS);
}

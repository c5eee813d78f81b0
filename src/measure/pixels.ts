import type { Frame } from '../model/frame.js';
import type { Grid, Regions } from '../model/regions.js';

/** The one pixel that stands for a block in statistics of single pixels: its place in the block changes from block to block. */
export function sampledPixel(frame: Frame, { blockPx }: Grid, bx: number, by: number): number {
  return (by * blockPx + ((bx * 7) % blockPx)) * frame.widthPx + bx * blockPx + ((by * 5) % blockPx);
}

/** Blocks of a region that statistics are drawn from, about: many more change no figure. */
const ENOUGH_BLOCKS = 30_000;

/** By value of REGION: one block in so many of each row stands for the others, shifted from row to row. */
export function blockSteps(mask: Uint8Array): Uint16Array {
  const steps = new Uint32Array(256);
  for (let i = 0; i < mask.length; i++) steps[mask[i]!]!++;
  return Uint16Array.from(steps, (count) => Math.max(1, Math.round(count / ENOUGH_BLOCKS)));
}

export interface ClippedPixel {
  readonly x: number;
  readonly y: number;
  readonly block: number;
  /** REGION value of the pixel. */
  readonly region: number;
  readonly red: boolean;
  readonly green: boolean;
  readonly blue: boolean;
}

/** Visits every clipped pixel, block by block; only blocks that hold one are looked into. */
export function eachClippedPixel(
  frame: Frame,
  grid: Grid,
  regions: Regions,
  visit: (pixel: ClippedPixel) => void,
): void {
  const { blockPx, width, height } = grid;
  const { samples, clipSample, widthPx } = frame;
  for (let by = 0; by < height; by++) {
    for (let bx = 0; bx < width; bx++) {
      const block = by * width + bx;
      if (regions.burnt[block] === 0) continue;
      for (let y = by * blockPx; y < (by + 1) * blockPx; y++) {
        for (let x = bx * blockPx; x < (bx + 1) * blockPx; x++) {
          const pixel = y * widthPx + x;
          const red = samples[pixel * 3]! >= clipSample;
          const green = samples[pixel * 3 + 1]! >= clipSample;
          const blue = samples[pixel * 3 + 2]! >= clipSample;
          if (red || green || blue) visit({ x, y, block, region: regions.fineMask[pixel]!, red, green, blue });
        }
      }
    }
  }
}

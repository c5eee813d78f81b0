import type { Frame } from '../model/frame.js';
import type { Grid, Regions } from '../model/regions.js';

/** The one pixel that stands for a block in statistics of single pixels: its place in the block changes from block to block. */
export function sampledPixel(frame: Frame, { blockPx }: Grid, bx: number, by: number): number {
  return (by * blockPx + ((bx * 7) % blockPx)) * frame.widthPx + bx * blockPx + ((by * 5) % blockPx);
}

/** Blocks that statistics are drawn from, at most: many more change no figure. */
const ENOUGH_BLOCKS = 110_000;

/** In a large grid one block in so many of each row stands for the others, shifted from row to row. */
export function blockStep({ width, height }: Grid): number {
  return Math.ceil((width * height) / ENOUGH_BLOCKS);
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

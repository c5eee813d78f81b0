import type { Frame } from '../model/frame.js';
import { REGION, type Grid } from '../model/regions.js';
import type { ToneSample } from '../model/toneSample.js';
import { linearToSrgb } from '../physics/encoding.js';

/** Places along the longer side. */
const LONG_SIDE = 640;

/**
 * Takes evenly spread blocks of a grid: the codes that its JPEG has them at, whatever curve it was read by (`display`; null: sRGB). Single
 * blocks, and of bright ones only those that lie among their like: averages over texture would blur where white begins. What is left out counts as a source.
 */
export function toneSampleOf(grid: Grid, mask: Uint8Array, display: Frame['toLinear'] | null): ToneSample {
  const step = Math.max(1, Math.floor(Math.max(grid.width, grid.height) / LONG_SIDE));
  const width = Math.floor(grid.width / step);
  const height = Math.floor(grid.height / step);
  const codes = new Uint16Array(width * height * 3);
  const regions = new Uint8Array(width * height);
  for (let y = 0; y < height; y++)
    for (let x = 0; x < width; x++) {
      const from = y * step * grid.width + x * step;
      const to = y * width + x;
      codes[to * 3] = codeOf(grid.red[from]!, display?.[0]);
      codes[to * 3 + 1] = codeOf(grid.green[from]!, display?.[1]);
      codes[to * 3 + 2] = codeOf(grid.blue[from]!, display?.[2]);
      regions[to] = isEven(grid, from) ? mask[from]! : REGION.source;
    }
  return { codes, regions };
}

/** Neighbours of bright places differ by less than this factor, or the block mixes light and dark and clips in part only. */
const EVEN = 1.25;
const DIM = 2 ** -4.5;

function isEven({ luminance, width }: Grid, i: number): boolean {
  const own = luminance[i]!;
  if (own < DIM) return true;
  for (const j of [i - 1, i + 1, i - width, i + width]) {
    const other = luminance[j];
    if (other !== undefined && (other * EVEN < own || other > own * EVEN)) return false;
  }
  return true;
}

function codeOf(light: number, table: Float32Array | undefined): number {
  if (table === undefined) return Math.round(65535 * linearToSrgb(Math.max(0, Math.min(1, light))));
  // The table rises with the code: straight between two codes.
  let [low, high] = [0, 255];
  while (low < high) {
    const middle = (low + high) >> 1;
    if (table[middle]! < light) low = middle + 1;
    else high = middle;
  }
  if (low === 0 || table[low]! <= light) return 257 * low;
  const [under, over] = [table[low - 1]!, table[low]!];
  return Math.round(257 * (low - 1 + (light - under) / Math.max(1e-12, over - under)));
}

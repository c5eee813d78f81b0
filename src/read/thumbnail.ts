import sharp from 'sharp';
import type { Grid } from '../model/regions.js';
import { linearToSrgb } from '../physics/encoding.js';

const WIDTH = 320;

/** By light in 4095ths of clipping: its sRGB code, a stop lifted. */
const CODES = Uint8Array.from({ length: 4096 }, (_, n) => Math.round(255 * linearToSrgb(Math.min(1, (2 * n) / 4095))));

/** A small JPEG (base64) from the working grid, by the sRGB curve, a stop lifted: nights are dark on paper. */
export async function thumbnailOf(grid: Grid): Promise<string> {
  // Averages of whole blocks first, so that little is left to the encoder.
  const by = Math.max(1, Math.floor(Math.max(grid.width, grid.height) / WIDTH));
  const width = Math.max(1, Math.floor(grid.width / by));
  const height = Math.max(1, Math.floor(grid.height / by));
  const pixels = new Uint8Array(width * height * 3);
  for (const [c, plane] of [grid.red, grid.green, grid.blue].entries())
    writeChannel(pixels, c, plane, grid.width, by, width, height);
  const small = await sharp(pixels, { raw: { width, height, channels: 3 } })
    .resize({ width: Math.min(WIDTH, width), height: WIDTH, fit: 'inside' })
    .jpeg({ quality: 72 })
    .toBuffer();
  return small.toString('base64');
}

function writeChannel(
  pixels: Uint8Array,
  channel: number,
  plane: Float32Array,
  stride: number,
  by: number,
  width: number,
  height: number,
): void {
  const scale = 4095 / (by * by);
  for (let y = 0; y < height; y++)
    for (let x = 0; x < width; x++) {
      let sum = 0;
      for (let row = y * by; row < (y + 1) * by; row++)
        for (let i = row * stride + x * by; i < row * stride + (x + 1) * by; i++) sum += plane[i]!;
      pixels[(y * width + x) * 3 + channel] = CODES[Math.max(0, Math.min(4095, Math.round(sum * scale)))]!;
    }
}

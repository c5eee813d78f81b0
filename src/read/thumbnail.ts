import sharp from 'sharp';
import type { Grid } from '../model/regions.js';
import { linearToSrgb } from '../physics/encoding.js';

const WIDTH = 320;

/** A small JPEG (base64) from the working grid, by the sRGB curve, a stop lifted: nights are dark on paper. */
export async function thumbnailOf(grid: Grid): Promise<string> {
  const { width, height } = grid;
  const pixels = new Uint8Array(width * height * 3);
  const table = Uint8Array.from({ length: 4096 }, (_, n) =>
    Math.round(255 * linearToSrgb(Math.min(1, (2 * n) / 4095))),
  );
  const code = (light: number): number => table[Math.max(0, Math.min(4095, Math.round(light * 4095)))]!;
  for (let i = 0; i < width * height; i++) {
    pixels[i * 3] = code(grid.red[i]!);
    pixels[i * 3 + 1] = code(grid.green[i]!);
    pixels[i * 3 + 2] = code(grid.blue[i]!);
  }
  const small = await sharp(pixels, { raw: { width, height, channels: 3 } })
    .resize({ width: Math.min(WIDTH, width), height: WIDTH, fit: 'inside' })
    .jpeg({ quality: 72 })
    .toBuffer();
  return small.toString('base64');
}

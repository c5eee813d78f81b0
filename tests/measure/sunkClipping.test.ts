import sharp from 'sharp';
import { expect, it } from 'vitest';
import { seededRandom } from '../../src/math/random.js';
import { samplePaint } from '../../src/measure/hiddenLight.js';
import type { Frame } from '../../src/model/frame.js';
import { REGION, type Grid, type Regions } from '../../src/model/regions.js';

const [WIDTH, HEIGHT] = [480, 320];

/** Warm paint with texture, brighter from left to right until half of it has its red clipped, as sRGB bytes. Invented. */
function warmPaint(): { bytes: Buffer; clipped: number } {
  const random = seededRandom(3);
  const bytes = Buffer.alloc(WIDTH * HEIGHT * 3);
  let clipped = 0;
  for (let i = 0; i < WIDTH * HEIGHT; i++) {
    const stops = -2.5 + (4 * (i % WIDTH)) / WIDTH + 0.35 * random.gaussian();
    [1, 0.62, 0.33].forEach((share, c) => {
      const light = share * 2 ** stops;
      // IEC 61966-2-1.
      const code = 255 * (light <= 0.0031308 ? 12.92 * light : 1.055 * light ** (1 / 2.4) - 0.055);
      bytes[i * 3 + c] = Math.min(255, Math.round(code));
    });
    if (2 ** stops >= 1) clipped++;
  }
  return { bytes, clipped: clipped / (WIDTH * HEIGHT) };
}

function sampleOf(samples: Uint8Array, container: 'jpeg' | 'png'): { stored: number; clipped: number } {
  const linear = Float32Array.from({ length: 256 }, (_, code) => (code / 255) ** 2.2);
  const frame = {
    samples,
    widthPx: WIDTH,
    heightPx: HEIGHT,
    clipSample: 254,
    toLinear: [linear, linear, linear],
    encoding: { container },
  } as unknown as Frame;
  const mask = new Uint8Array((WIDTH * HEIGHT) / 4).fill(REGION.painted);
  const fineMask = new Uint8Array(WIDTH * HEIGHT).fill(REGION.painted);
  const grid = { width: WIDTH / 2, height: HEIGHT / 2, blockPx: 2 } as Grid;
  const sample = samplePaint(frame, grid, { mask, fineMask } as unknown as Regions);
  const clipped = sample.clipped.filter((own) => own !== 0).length / sample.count;
  return { stored: clipped / sample.clippedOverStored, clipped };
}

// The packing is libjpeg's (sharp, 4:2:0, quality 92), not ours.
it('of a JPEG, channels that were clipped before it was packed are told, though their values sank', async () => {
  const { bytes, clipped } = warmPaint();
  const raw = { width: WIDTH, height: HEIGHT, channels: 3 } as const;
  const packed = await sharp(bytes, { raw }).jpeg({ quality: 92, chromaSubsampling: '4:2:0' }).toBuffer();
  const inJpeg = sampleOf(await sharp(packed).raw().toBuffer(), 'jpeg');
  expect(inJpeg.stored).toBeLessThan(0.9 * clipped);
  expect(Math.abs(inJpeg.clipped / clipped - 1)).toBeLessThan(0.08);
  // Nothing sinks in a file that keeps its values.
  const kept = sampleOf(bytes, 'png');
  expect(kept.clipped).toBe(kept.stored);
  expect(Math.abs(kept.clipped / clipped - 1)).toBeLessThan(0.03);
});

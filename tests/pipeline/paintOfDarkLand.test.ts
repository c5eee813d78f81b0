import { describe, expect, it } from 'vitest';
import { seededRandom } from '../../src/math/random.js';
import { DEFAULT_WISHES } from '../../src/model/wishes.js';
import { readOneFrame } from '../../src/pipeline/readOneFrame.js';
import sharp from 'sharp';
import { linearToSrgb } from '../../src/physics/encoding.js';

const [WIDTH, HEIGHT, HORIZON] = [900, 600, 360];
const TORCH = { name: 'torch', kind: 'held', seconds: 3, distanceM: 6, power: 1 } as const;

/** A starry sky four stops under clipping over black land with a patch of paint near ten stops under it: a torch that is far too weak. */
async function weaklyLit(): Promise<Buffer> {
  const random = seededRandom(3);
  const pixels = new Uint8Array(WIDTH * HEIGHT * 3);
  for (let i = 0; i < WIDTH * HEIGHT; i++) {
    const [x, y] = [i % WIDTH, Math.floor(i / WIDTH)];
    const lit = y > HORIZON + 60 && Math.hypot(x - 450, (y - 480) * 2) < 160;
    const light = y < HORIZON ? 2 ** -4 : lit ? 2 ** -9.6 : 2 ** -14;
    [1.15, 1, lit ? 0.6 : 1.05].forEach((tint, c) => {
      pixels[i * 3 + c] = Math.round(255 * linearToSrgb(light * tint * (1 + 0.08 * random.gaussian())));
    });
  }
  for (let n = 0; n < 300; n++) {
    const at = Math.floor(random.between(3, HORIZON - 3)) * WIDTH + Math.floor(random.between(3, WIDTH - 3));
    for (const [off, part] of [
      [0, 1],
      [1, 0.5],
      [-1, 0.5],
      [WIDTH, 0.5],
      [-WIDTH, 0.5],
    ] as const)
      for (let c = 0; c < 3; c++) pixels[(at + off) * 3 + c] = Math.round(90 + 150 * part);
  }
  return sharp(pixels, { raw: { width: WIDTH, height: HEIGHT, channels: 3 } })
    .png()
    .toBuffer();
}

describe('a torch that is far too weak', () => {
  it('is advised to give more light, and its paint is not foretold to sink into black land', async () => {
    const told = { iso: 1600, shutterSeconds: 30, aperture: 2.8 };
    const { reading } = await readOneFrame(await weaklyLit(), 'weak.png', told, [TORCH], DEFAULT_WISHES);
    expect(reading.balance.stops!).toBeLessThan(-4.5);
    expect(reading.advice.verdict).toBe('adjust');
    const [best] = reading.advice.options;
    expect(best!.predicted.balanceStops!).toBeGreaterThan(reading.balance.stops! + 2);
    const lamp = best!.changes.filter(({ light }) => light === 'torch').reduce((all, { factor }) => all * factor, 1);
    expect(lamp).toBeGreaterThan(4);
  });

  it('settings of full daylight are doubted in a frame without a bright sky', async () => {
    const told = { iso: 640, shutterSeconds: 1 / 400, aperture: 22 };
    const { reading } = await readOneFrame(await weaklyLit(), 'weak.png', told, [], DEFAULT_WISHES);
    expect(reading.warnings.map(({ code }) => code)).toContain('not-night');
  });
});

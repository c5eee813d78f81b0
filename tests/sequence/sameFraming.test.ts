import { describe, expect, it } from 'vitest';
import type { Glance } from '../../src/model/night.js';
import { REGION } from '../../src/model/regions.js';
import { seededRandom } from '../../src/math/random.js';
import { likeness } from '../../src/sequence/sameFraming.js';

const [WIDTH, HEIGHT, HORIZON] = [96, 64, 36];

/** Flat land under a level horizon, with a figure that stands against the sky; light in hundredths of a stop. */
function flatLand(texture: number, figure: number, brighter = 0): Glance {
  const random = seededRandom(texture);
  const light = new Int16Array(WIDTH * HEIGHT);
  const regions = new Uint8Array(WIDTH * HEIGHT);
  for (let y = 0; y < HEIGHT; y++)
    for (let x = 0; x < WIDTH; x++) {
      const stands = Math.abs(x - figure) < 4 && y >= HORIZON - 12 && y < HORIZON + 4;
      const sky = y < HORIZON && !stands;
      light[y * WIDTH + x] = (sky ? -400 : stands ? -200 : -600) + random.between(-6, 6) + (sky ? 0 : brighter);
      regions[y * WIDTH + x] = sky ? REGION.sky : stands ? REGION.painted : REGION.unlit;
    }
  return { width: WIDTH, height: HEIGHT, light, regions } as unknown as Glance;
}

/** Framings at least so alike are one setup (groupSetups). */
const ONE_SETUP = 0.31;

describe('framings of flat land', () => {
  it('are told apart by what stands before the sky, though their horizon is the same', () => {
    expect(likeness(flatLand(1, 24), flatLand(2, 70))).toBeLessThan(ONE_SETUP);
  });

  it('are one where the same stands there in other light', () => {
    expect(likeness(flatLand(1, 24), flatLand(1, 24, 150))).toBeGreaterThan(0.6);
  });
});

import { describe, expect, it } from 'vitest';
import type { Glance } from '../../src/model/night.js';
import { REGION } from '../../src/model/regions.js';
import { seededRandom } from '../../src/math/random.js';
import { likeness, shiftBetween } from '../../src/sequence/sameFraming.js';

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

  it('are not one for light that falls off with distance, which is alike on any land', () => {
    // A rim of light along the level horizon, and less with each row: nothing in it is of this place.
    const banded = (texture: number, figure: number): Glance => {
      const glance = flatLand(texture, figure);
      const light = [...glance.light].map((value, i) => {
        const below = Math.floor(i / WIDTH) - HORIZON;
        return below < 0 ? value : value + (below < 2 ? 200 : 0) + 60 * Math.sin(below / 2);
      });
      return { ...glance, light };
    };
    expect(likeness(banded(1, 30), banded(2, 40))).toBeLessThan(ONE_SETUP);
    expect(likeness(banded(1, 30), banded(1, 30))).toBeGreaterThan(0.6);
  });

  it('do not move when a lamp lights stones from the other side: the skyline stands', () => {
    const lit = (side: number): Glance => {
      const glance = flatLand(1, 24);
      const light = [...glance.light].map((value, i) => {
        const [x, y] = [i % WIDTH, Math.floor(i / WIDTH)];
        // A stone every nine cells, bright on the side of the lamp.
        const across = (x - side - (y % 2)) % 9;
        return y > HORIZON + 3 && y % 6 < 3 && across >= 0 && across < 2 ? value + 300 : value;
      });
      return { ...glance, light };
    };
    const { dx, withSkyline } = shiftBetween(lit(0), lit(2));
    expect(dx).toBeCloseTo(2, 0);
    expect(withSkyline).toBe(false);
  });
});

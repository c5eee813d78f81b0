import { describe, expect, it } from 'vitest';
import { seededRandom } from '../../src/math/random.js';
import { median } from '../../src/math/statistics.js';
import { trailLengths } from '../../src/measure/stars/lengths.js';
import type { StarShape } from '../../src/measure/stars/shape.js';

/** Stars 1.6 pixels wide over a frame, drawn out as `trail` says there, each of them by grain in a way of its own as well. */
function field(
  count: number,
  grainPx: number,
  trail: (x: number, y: number) => { dx: number; dy: number },
): StarShape[] {
  const random = seededRandom(11);
  const moments = ({ dx, dy }: { dx: number; dy: number }) => [(dx * dx) / 12, (dy * dy) / 12, (dx * dy) / 12] as const;
  return Array.from({ length: count }, (): StarShape => {
    const [x, y] = [random.between(0, 2592), random.between(0, 1300)];
    const own = moments(trail(x, y));
    const grain = moments({ dx: grainPx * random.gaussian(), dy: grainPx * random.gaussian() });
    const [xx, yy, xy] = [0.49 + own[0] + grain[0], 0.49 + own[1] + grain[1], own[2] + grain[2]];
    const size = Math.hypot(xx - yy, 2 * xy);
    const [a, b] = [Math.sqrt((xx + yy + size) / 2), Math.sqrt((xx + yy - size) / 2)];
    return { x, y, a, b, directionDeg: 0, xx, yy, xy, fluxOverNoise: 100, hollow: false };
  });
}

// Trail length from plain second moments: sqrt(12 (a^2 - b^2)) (references: section 6, trailed Gaussian).
describe('the length of trails', () => {
  it('is that of the moments where nothing but the trail draws stars out', () => {
    for (const length of trailLengths(field(60, 0, () => ({ dx: 3, dy: -4 })))) expect(length).toBeCloseTo(5, 6);
  });

  it('is hardly moved by grain, which draws each star out its own way', () => {
    expect(median(trailLengths(field(100, 1.3, () => ({ dx: 0, dy: 0 }))))).toBeLessThan(1);
    expect(median(trailLengths(field(100, 1.3, () => ({ dx: 4, dy: 0 }))))).toBeCloseTo(4, 0);
  });

  it('is that of the place where trails grow along the radius', () => {
    const coma = (x: number, y: number) => ({ dx: (x - 1296) / 260, dy: (y - 650) / 260 });
    const stars = field(100, 0, coma);
    const drawn = stars.map(({ x, y }) => Math.hypot(coma(x, y).dx, coma(x, y).dy));
    const off = trailLengths(stars).map((length, n) => Math.abs(length / drawn[n]! - 1));
    // Neighbours are some 250 pixels away here.
    expect(median(off)).toBeLessThan(0.15);
  });

  it('is that of each star where there are too few for neighbours', () => {
    for (const { a, b, length } of lengthsBeside(field(2, 1.5, () => ({ dx: 0, dy: 0 }))))
      expect(length).toBeCloseTo(Math.sqrt(12 * (a ** 2 - b ** 2)), 6);
  });
});

function lengthsBeside(stars: StarShape[]): { a: number; b: number; length: number }[] {
  const lengths = trailLengths(stars);
  return stars.map(({ a, b }, n) => ({ a, b, length: lengths[n]! }));
}

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { seededRandom } from '../../src/math/random.js';
import { quantile } from '../../src/math/statistics.js';
import { putBack, type PaintSample } from '../../src/measure/hiddenLight.js';

/** Paint of one colour (1 = the brightest channel) at given levels, cut off at clipping as a file does. */
function clippedPaint(colour: readonly number[], levels: readonly number[]): PaintSample {
  const light = new Float32Array(levels.length * 3);
  const clipped = new Uint8Array(levels.length);
  levels.forEach((stops, i) => {
    for (let c = 0; c < 3; c++) {
      const own = 2 ** stops * colour[c]!;
      light[i * 3 + c] = Math.min(1, own);
      if (own >= 1) clipped[i]! |= 1 << c;
    }
  });
  return { count: levels.length, light, clipped, clippedOverStored: 1 };
}

const evenly = (count: number, from: number, to: number): number[] =>
  Array.from({ length: count }, (_, n) => from + ((to - from) * n) / (count - 1));

describe('what clipping hides', () => {
  it('is told exactly by a channel that holds, where all paint has one colour', () => {
    const levels = evenly(2000, -5, 1.2);
    const { brightest, colour } = putBack(clippedPaint([1, 0.6, 0.35], levels));
    expect(colour!.map((share) => Number(share.toFixed(3)))).toEqual([1, 0.6, 0.35]);
    levels.forEach((stops, i) => {
      expect(Math.log2(brightest[i]!)).toBeCloseTo(stops, 2);
    });
  });

  it('is told by green and blue where nearly all red is burnt, though the rim that holds is of another colour', () => {
    const rim = clippedPaint([1, 0.9, 0.8], evenly(60, -1, -0.1));
    const paint = clippedPaint([1, 0.6, 0.3], evenly(2000, 0.1, 1.5));
    const { colour } = putBack({
      count: rim.count + paint.count,
      light: Float32Array.from([...rim.light, ...paint.light]),
      clipped: Uint8Array.from([...rim.clipped, ...paint.clipped]),
      clippedOverStored: 1,
    });
    expect(colour![2] / colour![1]).toBeLessThan(0.6);
  });

  it('is carried on where nothing holds: every pixel beyond what would clip the weakest channel, no level twice', () => {
    const levels = evenly(4000, -5, 2.2);
    const { brightest, allClippedStops } = putBack(clippedPaint([1, 0.6, 0.35], levels));
    const hidden = [...brightest].filter((_, i) => 2 ** levels[i]! * 0.35 >= 1);
    expect(Math.min(...hidden)).toBeGreaterThan(1 / 0.35);
    expect(new Set(hidden).size).toBe(hidden.length);
    expect(allClippedStops).toBeGreaterThan(Math.log2(1 / 0.35));
    // An even spread ends abruptly; a tail that falls off ever steeper must not run far beyond its end.
    expect(Math.log2(quantile(brightest, 0.995))).toBeLessThan(2.2 + 1);
  });

  it.each([
    { share: 0.05, beyondStops: 0.4 },
    { share: 0.2, beyondStops: 0.4 },
    { share: 0.4, beyondStops: 0.8 },
  ])(
    'is that of a lamp over flat ground (inverse square and cosine law) within $beyondStops stop, where $share of the paint shows nothing',
    ({ share, beyondStops }) => {
      // E = I h / (x^2 + y^2 + h^2)^1.5: every handbook of lighting; ground marked by a quarter stop either way.
      const random = seededRandom(7);
      const levels: number[] = [];
      for (let x = -4; x < 4; x += 0.08)
        for (let y = -4; y < 4; y += 0.08)
          levels.push(-1.5 * Math.log2(x * x + y * y + 1.5 * 1.5) + random.between(-0.25, 0.25));
      const colour = [1, 0.6, 0.35];
      const over = quantile(levels, 1 - share) + Math.log2(0.35);
      const shown = levels.map((stops) => stops - over);
      const { brightest } = putBack(clippedPaint(colour, shown));
      const hidden = shown.map((_, i) => i).filter((i) => 2 ** shown[i]! * 0.35 >= 1);
      const [told, true_] = [hidden.map((i) => Math.log2(brightest[i]!)), hidden.map((i) => shown[i]!)];
      for (const part of [0.5, 0.9, 0.99])
        expect(Math.abs(quantile(told, part) - quantile(true_, part)), String(part)).toBeLessThan(beyondStops);
    },
  );

  it('is nothing where nothing is clipped', () => {
    const sample = clippedPaint([1, 0.7, 0.5], evenly(300, -6, -0.1));
    const { brightest, allClippedStops } = putBack(sample);
    expect(allClippedStops).toBe(0);
    for (let i = 0; i < sample.count; i++) expect(brightest[i]).toBe(sample.light[i * 3]);
  });

  it('is finite and never under clipping, whatever the paint', () => {
    const channel = fc.double({ min: 0, max: 1, noNaN: true });
    fc.assert(
      fc.property(
        fc.array(fc.tuple(channel, channel, channel, fc.integer({ min: 0, max: 7 })), { maxLength: 200 }),
        (pixels) => {
          const light = Float32Array.from(pixels.flatMap(([r, g, b]) => [r, g, b]));
          const clipped = Uint8Array.from(pixels.map(([, , , own]) => own));
          const { brightest } = putBack({ count: pixels.length, light, clipped, clippedOverStored: 1 });
          brightest.forEach((value, i) => {
            expect(Number.isFinite(value)).toBe(true);
            if (clipped[i] !== 0) expect(value).toBeGreaterThanOrEqual(1);
          });
        },
      ),
    );
  });
});

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { PaintForecaster } from '../../src/advise/forecast.js';
import type { LandLevels } from '../../src/model/reading.js';
import { factsWith } from '../support/facts.js';

/** Land whose lamp light is `ratios` stops over the ambient light, the ambient light at `ambient`. */
function land(shares: readonly number[], ambient = -7): LandLevels {
  const total = shares.reduce((sum, share) => sum + share, 0);
  const lowestStops = -4;
  const stepStops = 0.25;
  return {
    lowestStops,
    stepStops,
    ambientStops: ambient,
    shares: shares.map((share) => share / Math.max(1, total)),
    levelStops: shares.map((_, n) => ambient + Math.log2(1 + 2 ** (lowestStops + (n + 0.5) * stepStops))),
  };
}

const anyLand = fc
  .array(fc.nat(50), { minLength: 60, maxLength: 60 })
  .filter((shares) => shares.some((share, n) => share > 0 && n > 16));

describe('paint foretold', () => {
  it('moves with ISO and aperture by exactly what they give, however the land is lit', () => {
    fc.assert(
      fc.property(anyLand, fc.double({ min: -3, max: 3, noNaN: true }), (shares, stops) => {
        const forecast = new PaintForecaster(factsWith({ paintedStops: -2.5, landLevels: land(shares) }));
        expect(forecast.after(2 ** stops, 2 ** stops)!.stops).toBeCloseTo(-2.5 + stops, 5);
        expect(forecast.after(2 ** stops, 2 ** stops)!.areaRatio).toBeCloseTo(1, 5);
      }),
    );
  });

  it('never brightens with less lamp light', () => {
    fc.assert(
      fc.property(anyLand, (shares) => {
        const forecast = new PaintForecaster(factsWith({ paintedStops: -2.5, landLevels: land(shares) }));
        for (let stops = -5; stops < 5; stops += 0.25)
          expect(forecast.after(1, 2 ** (stops + 0.25))!.stops).toBeGreaterThanOrEqual(
            forecast.after(1, 2 ** stops)!.stops - 1e-9,
          );
      }),
    );
  });

  it('covers the more land the brighter the lamps are', () => {
    fc.assert(
      fc.property(anyLand, (shares) => {
        const forecast = new PaintForecaster(factsWith({ paintedStops: -2.5, landLevels: land(shares) }));
        let last = forecast.after(1, 2 ** -5)!.areaRatio;
        for (let stops = -4.5; stops <= 5; stops += 0.5) {
          const next = forecast.after(1, 2 ** stops)!.areaRatio;
          expect(next).toBeGreaterThanOrEqual(last - 1e-9);
          last = next;
        }
      }),
    );
  });

  // Worked by hand: 40 parts of the land at 8 times the ambient light, 80 at 2.4 times. At a quarter of the lamp's light these have six
  // tenths of the ambient light from it and are no longer the lamp's; what is left is the brighter third, now at 2 + 1 times the ambient light.
  it('is the brighter part of the land when a lamp is dimmed', () => {
    const shares = new Array<number>(60).fill(0);
    const bin = (ratio: number): number => Math.round((Math.log2(ratio) + 4) / 0.25 - 0.5);
    shares[bin(8)] = 40;
    shares[bin(2.4)] = 80;
    const now = Math.log2(1 + 2.4) - 7;
    const forecast = new PaintForecaster(factsWith({ paintedStops: now, landLevels: land(shares) }));
    const dimmed = forecast.after(1, 1 / 4)!;
    expect(Math.abs(dimmed.stops - (Math.log2(1 + 2) - 7))).toBeLessThan(0.3);
    expect(dimmed.areaRatio).toBeLessThan(0.5);
  });

  // Where lamp and ambient light are equal the land has twice the ambient light: less cannot be painted.
  it('is never darker than twice the ambient light, and then there is none', () => {
    const shares = new Array<number>(60).fill(1, 0, 30).fill(0, 30);
    const forecast = new PaintForecaster(factsWith({ paintedStops: -4, landLevels: land(shares, -5) }));
    const [dim, dimmer] = [forecast.after(1, 2 ** -8)!, forecast.after(1, 2 ** -9)!];
    expect(dimmer.areaRatio).toBeLessThan(0.02);
    expect(dimmer.stops).toBeCloseTo(dim.stops, 6);
  });
});

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { clippedAfter } from '../../src/advise/forecast.js';
import { boxBlur, connectedBlobs, grow, shrink } from '../../src/math/raster.js';
import { quantile } from '../../src/math/statistics.js';
import { RULES } from '../../src/advise/rules/list.js';
import type { Candidate } from '../../src/advise/candidate.js';
import { DEFAULT_WISHES } from '../../src/model/wishes.js';
import type { Facts } from '../../src/advise/facts.js';
import { burningThroughRatio, distanceRatio, paintOverSky, sensitivityRatio } from '../../src/physics/exposure.js';
import { linearToSrgb, srgbToLinear } from '../../src/physics/encoding.js';

const positive = (low: number, high: number): fc.Arbitrary<number> => fc.double({ min: low, max: high, noNaN: true });

describe('laws of light', () => {
  it('paint over sky does not depend on ISO or aperture, and follows time and distance', () => {
    const lamp = {
      reflectance: 0.2,
      intensityCd: 5,
      cosIncidence: 0.8,
      distanceM: 5,
      paintSeconds: 3,
      skyCdM2: 2e-4,
      shutterSeconds: 20,
    };
    fc.assert(
      fc.property(positive(1, 30), positive(0.5, 30), (distance, seconds) => {
        const base = paintOverSky(lamp);
        const changed = paintOverSky({ ...lamp, distanceM: distance, paintSeconds: seconds });
        expect(changed / base).toBeCloseTo((distanceRatio(5, distance) * seconds) / 3, 6);
      }),
    );
  });

  it('exposure ratios chain and undo', () => {
    const camera = fc.record({
      iso: positive(100, 12800),
      shutterSeconds: positive(1, 60),
      aperture: positive(1.4, 11),
    });
    fc.assert(
      fc.property(camera, camera, camera, (a, b, c) => {
        expect(Math.log2(burningThroughRatio(a, b) * burningThroughRatio(b, c))).toBeCloseTo(
          Math.log2(burningThroughRatio(a, c)),
          8,
        );
        expect(sensitivityRatio(a, b) * sensitivityRatio(b, a)).toBeCloseTo(1, 9);
      }),
    );
  });

  it('sRGB there and back', () => {
    fc.assert(
      fc.property(positive(0, 1), (light) => {
        expect(srgbToLinear(linearToSrgb(light))).toBeCloseTo(light, 5);
      }),
    );
  });
});

describe('mathematics', () => {
  it('quantile agrees with sorting', () => {
    fc.assert(
      fc.property(fc.array(positive(-1e6, 1e6), { minLength: 1, maxLength: 200 }), positive(0, 1), (values, p) => {
        const sorted = [...values].sort((a, b) => a - b);
        const rank = p * (sorted.length - 1);
        const low = Math.floor(rank);
        const wanted = sorted[low]! + ((sorted[low + 1] ?? sorted[low]!) - sorted[low]!) * (rank - low);
        expect(quantile(values, p)).toBeCloseTo(wanted, 6);
      }),
    );
  });

  const image = fc.integer({ min: 3, max: 24 }).chain((width) =>
    fc.integer({ min: 3, max: 20 }).chain((height) =>
      fc.record({
        width: fc.constant(width),
        height: fc.constant(height),
        mask: fc.uint8Array({ min: 0, max: 1, minLength: width * height, maxLength: width * height }),
      }),
    ),
  );

  it('blobs: labels join exactly what touches', () => {
    fc.assert(
      fc.property(image, ({ width, height, mask }) => {
        const { labels, blobs } = connectedBlobs(mask, width, height);
        expect(blobs.reduce((sum, blob) => sum + blob.area, 0)).toBe(mask.reduce((sum, value) => sum + value, 0));
        for (let i = 0; i < mask.length; i++) {
          expect(labels[i] !== 0).toBe(mask[i] === 1);
          if (i % width < width - 1 && mask[i] === 1 && mask[i + 1] === 1) expect(labels[i]).toBe(labels[i + 1]);
          if (i + width < mask.length && mask[i] === 1 && mask[i + width] === 1)
            expect(labels[i]).toBe(labels[i + width]);
        }
        // Never too few: a flood from each blob's first pixel reaches all of it.
        for (const blob of blobs) expect(flood(mask, width, labels.indexOf(blob.label))).toBe(blob.area);
      }),
    );
  });

  it('growing and shrinking bracket the mask, blurring keeps a constant', () => {
    fc.assert(
      fc.property(image, fc.integer({ min: 1, max: 3 }), ({ width, height, mask }, radius) => {
        const larger = grow(mask, width, height, radius);
        const smaller = shrink(mask, width, height, radius);
        for (let i = 0; i < mask.length; i++) {
          expect(larger[i]! >= mask[i]!).toBe(true);
          expect(smaller[i]! <= mask[i]!).toBe(true);
        }
        const flat = boxBlur(new Float32Array(mask.length).fill(0.37), width, height, radius);
        for (const value of flat) expect(value).toBeCloseTo(0.37, 5);
      }),
    );
  });
});

function flood(mask: Uint8Array, width: number, start: number): number {
  const seen = new Set([start]);
  for (const i of seen)
    for (const j of [i % width > 0 ? i - 1 : -1, i % width < width - 1 ? i + 1 : -1, i - width, i + width])
      if (j >= 0 && j < mask.length && mask[j] === 1) seen.add(j);
  return seen.size;
}

describe('advice', () => {
  it('more paint never clips less', () => {
    const fractionAbove = Array.from({ length: 41 }, (_, n) => Math.min(1, 0.01 + n / 45));
    const fractionOver = Array.from({ length: 21 }, (_, n) => 0.01 * 0.8 ** n);
    const headroom = { fractionAbove, fractionOver, clippedMedianOverStops: 0.8, medianStops: -4, hiddenStops: 0 };
    fc.assert(
      fc.property(positive(-6, 6), positive(0, 3), (stops, more) => {
        expect(clippedAfter(headroom, stops + more)).toBeGreaterThanOrEqual(clippedAfter(headroom, stops) - 1e-9);
      }),
    );
  });

  it('a wish never loosens as its cause worsens', () => {
    const facts = {
      settings: { iso: 1600, shutterSeconds: 20, aperture: 2.8 },
      levelUncertaintyStops: 0.03,
      skyStops: -5,
      paintedStops: -3,
      headroom: { fractionAbove: [0.1], clippedMedianOverStops: 1, medianStops: -3 },
      trailPxAllowed: 3,
      lights: [{ name: 'a' }, { name: 'b' }],
      wishes: DEFAULT_WISHES,
    } as unknown as Facts;
    const base: Candidate = {
      changes: [],
      iso: 1600,
      shutterSeconds: 20,
      aperture: 2.8,
      skyStops: -4,
      paintedStops: -2.5,
      clippedFraction: 0,
      paintedAreaRatio: 1,
      trailPx: 2,
      counts: [4],
      lampGains: [1, 1],
      walks: 0,
      movedDoublings: 0,
    };
    const worse: Record<string, (candidate: Candidate, by: number) => Candidate> = {
      skyLevel: (c, by) => ({ ...c, skyStops: -4 - by }),
      balance: (c, by) => ({ ...c, paintedStops: -2.5 + by }),
      headroom: (c, by) => ({ ...c, clippedFraction: by / 10 }),
      paintShows: (c, by) => ({ ...c, paintedAreaRatio: 2 ** -by }),
      trail: (c, by) => ({ ...c, trailPx: 2 + by }),
      noise: (c, by) => ({ ...c, iso: 1600 * 2 ** by }),
      countableTime: (c, by) => ({ ...c, counts: [4 / (1 + by)] }),
      lampProportion: (c, by) => ({ ...c, lampGains: [1, 1 + by] }),
      needlessWalks: (c, by) => ({ ...c, walks: Math.round(by) }),
      fewestChanges: (c, by) => ({
        ...c,
        changes: Array.from({ length: Math.round(by) }, () => ({ what: 'iso' as const, from: 1, to: 2, factor: 2 })),
      }),
    };
    for (const rule of RULES) {
      const wish = rule.wish(facts)!;
      const by = worse[rule.id]!;
      fc.assert(
        fc.property(positive(0, 5), positive(0, 3), (a, more) => {
          expect(wish.cost(by(base, a + more))).toBeGreaterThanOrEqual(wish.cost(by(base, a)) - 1e-9);
        }),
      );
    }
  });
});

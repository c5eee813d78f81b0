import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { seededRandom } from '../../src/math/random.js';
import { median } from '../../src/math/statistics.js';
import { LuminanceReader } from '../../src/physics/luminance.js';
import { measureShape, type StarShape } from '../../src/measure/stars/shape.js';
import { trailFromMoments } from '../../src/physics/trailing.js';
import { readFits } from '../support/fits.js';
import { linearFrame } from '../support/frames.js';
import { sharedFile, SHARED_ABSENT } from '../support/shared.js';

/** Light of pixel-integrated Gaussian spots moved along a trail, oversampled 9 x 9. */
function spot(
  light: Float32Array,
  width: number,
  at: { x: number; y: number },
  sx: number,
  sy: number,
  angleDeg: number,
  flux: number,
  trail = 0,
): void {
  const angle = (angleDeg * Math.PI) / 180;
  const reach = Math.ceil(5 * Math.max(sx, sy) + trail);
  const taps = trail > 0 ? Math.ceil(trail * 6) : 1;
  for (
    let y = Math.max(0, Math.round(at.y) - reach);
    y <= Math.min(light.length / width - 1, Math.round(at.y) + reach);
    y++
  )
    for (let x = Math.max(0, Math.round(at.x) - reach); x <= Math.min(width - 1, Math.round(at.x) + reach); x++) {
      let sum = 0;
      for (let t = 0; t < taps; t++) {
        const along = trail > 0 ? ((t + 0.5) / taps - 0.5) * trail : 0;
        for (let v = 0; v < 5; v++)
          for (let u = 0; u < 5; u++) {
            const dx = x + (u + 0.5) / 5 - 0.5 - at.x - along * Math.cos(angle);
            const dy = y + (v + 0.5) / 5 - 0.5 - at.y - along * Math.sin(angle);
            const p = (dx * Math.cos(angle) + dy * Math.sin(angle)) / sx;
            const q = (-dx * Math.sin(angle) + dy * Math.cos(angle)) / sy;
            sum += Math.exp(-0.5 * (p * p + q * q));
          }
      }
      light[y * width + x]! += (flux * sum) / (25 * taps * 2 * Math.PI * sx * sy);
    }
}

function measuredAt(light: Float32Array, width: number, x: number, y: number): ReturnType<typeof measureShape> {
  const frame = linearFrame(width, light.length / width, light);
  return measureShape(frame, new Uint8Array(light.length), new LuminanceReader(frame), Math.round(x), Math.round(y));
}

function shapeAt(light: Float32Array, width: number, x: number, y: number): StarShape {
  const shape = measuredAt(light, width, x, y);
  if (typeof shape === 'string') throw new Error(shape);
  return shape;
}

function noisySky(width: number, height: number, seed: number, level: number, noise: number): Float32Array {
  const random = seededRandom(seed);
  return Float32Array.from({ length: width * height }, () => level + random.gaussian() * noise);
}

describe('plain second moments of trailed Gaussians', () => {
  // Source: photutils 1.6 and sep 1.2.1 on pixel-integrated, 15 x oversampled spots (sigma, L, angle; a, b).
  it.each([
    [1.2, 0, 0, 1.2341, 1.2341],
    [1.2, 4, 0, 1.6901, 1.2341],
    [1.2, 4, 30, 1.6901, 1.2341],
    [1.5, 6, -20, 2.3093, 1.5274],
  ])('sigma %f, trail %f px at %f degrees', (sigma, length, angle, a, b) => {
    const light = noisySky(81, 81, 5, 0.02, 1e-5);
    spot(light, 81, { x: 40.2, y: 39.7 }, sigma, sigma, angle, 2, length);
    const shape = shapeAt(light, 81, 40, 40);
    expect(shape.a).toBeCloseTo(a, 1);
    expect(shape.b).toBeCloseTo(b, 1);
    expect(trailFromMoments(shape.a, shape.b)).toBeGreaterThan(length - 0.15);
    expect(trailFromMoments(shape.a, shape.b)).toBeLessThan(length + 0.45);
    if (length > 0) expect(Math.abs(shape.directionDeg - angle)).toBeLessThan(2);
  });
});

const GAUSSIANS = sharedFile('data', 'source-catalogue', '100gaussians.ecsv');

describe('100 Gaussians of known shape (astropy/photutils, BSD-3)', () => {
  it.skipIf(GAUSSIANS === null)(GAUSSIANS === null ? SHARED_ABSENT : 'sizes and angles', () => {
    const lines = readFileSync(GAUSSIANS!, 'utf8')
      .split('\n')
      .filter((line) => line !== '' && !line.startsWith('#'));
    const names = lines[0]!.split(/[ ,]+/);
    const rows = lines.slice(1).map((line) => line.split(/[ ,]+/).map(Number));
    const column = (row: readonly number[], name: string): number => row[names.indexOf(name)]!;
    const errors: number[] = [];
    const angles: number[] = [];
    rows.forEach((row, n) => {
      const sx = column(row, 'x_stddev');
      const sy = column(row, 'y_stddev');
      const theta = (column(row, 'theta') * 180) / Math.PI;
      if (Math.max(sx, sy) > 6) return;
      const light = noisySky(101, 101, n + 1, 0.02, 2e-5);
      spot(light, 101, { x: 50.3, y: 49.8 }, sx, sy, theta, 6);
      const shape = shapeAt(light, 101, 50, 50);
      const [a, b] = [Math.max(sx, sy), Math.min(sx, sy)].map((s) => Math.sqrt(s * s + 1 / 12)) as [number, number];
      errors.push(Math.abs(shape.a / a - 1), Math.abs(shape.b / b - 1));
      if (a / b > 1.25) {
        const long = sx >= sy ? theta : theta + 90;
        const apart = ((((shape.directionDeg - long) % 180) + 270) % 180) - 90;
        angles.push(Math.abs(apart));
      }
    });
    expect(errors.length).toBeGreaterThan(100);
    expect(median(errors)).toBeLessThan(0.02);
    expect(Math.max(...errors)).toBeLessThan(0.06);
    expect(median(angles)).toBeLessThan(1);
  });
});

const CATALOGUE = sharedFile('data', 'source-catalogue', 'image.cat');

describe("SExtractor's catalogue of a real image (kbarbary/sep data)", () => {
  it.skipIf(CATALOGUE === null)(
    CATALOGUE === null ? SHARED_ABSENT : 'positions and moments of bright isolated sources',
    () => {
      const names = readFileSync(sharedFile('data', 'source-catalogue', 'columns.param')!, 'utf8')
        .split('\n')
        .map((line) => line.trim())
        .filter((line) => line !== '' && !line.startsWith('#'));
      const rows = readFileSync(CATALOGUE!, 'utf8')
        .split('\n')
        .filter((line) => line.trim() !== '' && !line.startsWith('#'))
        .map((line) => line.trim().split(/\s+/).map(Number));
      const { width, values } = readFits(sharedFile('data', 'source-catalogue', 'image.fits')!);
      const low = Math.min(...values);
      const high = Math.max(...values);
      const light = values.map((value) => (value - low) / (high - low) / 1.2 + 0.001);
      const get = (row: readonly number[], name: string): number =>
        row[names.findIndex((own) => own.startsWith(name))]!;
      const flux = names.find((name) => name.startsWith('FLUX_'))!;
      const bright = [...rows].sort((a, b) => get(b, flux) - get(a, flux)).slice(0, 24);
      const places: number[] = [];
      const sizes: number[] = [];
      for (const row of bright) {
        // FITS pixel 1 is our pixel 0.
        const x = get(row, 'X_IMAGE') - 1;
        const y = get(row, 'Y_IMAGE') - 1;
        if (
          rows.some(
            (other) => other !== row && Math.hypot(get(other, 'X_IMAGE') - 1 - x, get(other, 'Y_IMAGE') - 1 - y) < 14,
          )
        )
          continue;
        const shape = measuredAt(light, width, x, y);
        if (typeof shape === 'string') continue;
        places.push(Math.hypot(shape.x - x, shape.y - y));
        sizes.push(Math.sqrt((shape.xx + shape.yy) / (get(row, 'X2_IMAGE') + get(row, 'Y2_IMAGE'))));
      }
      expect(places.length).toBeGreaterThanOrEqual(5);
      expect(median(places)).toBeLessThan(0.3);
      // Theirs is cut off at its own isophote, ours takes two pixels more: a few per cent larger is right.
      expect(Math.abs(median(sizes) - 1)).toBeLessThan(0.15);
    },
  );
});

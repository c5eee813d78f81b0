import { describe, expect, it } from 'vitest';
import { REGION, type Grid } from '../../src/model/regions.js';
import { splitPaint } from '../../src/segment/paint.js';
import { findSources } from '../../src/segment/sources.js';
import { AMBIENT, paintedPart, patchyGround, WIDTH } from '../support/patchyGround.js';

const HALF = WIDTH / 2;

/** Log odds of paint by column. */
function odds(length: number, at: (x: number) => number): Float32Array {
  return Float32Array.from({ length }, (_, i) => at(i % WIDTH));
}

describe('paint that a network has seen', () => {
  it('ends where the light does, where the network is unsure', () => {
    const { grid, mask } = patchyGround(0.5, -4.5, 1.2);
    const unsure = 40;
    const seen = odds(mask.length, (x) => (Math.abs(x - HALF) < unsure ? 0 : x < HALF ? 4 : -4));
    const land = splitPaint(grid, mask, seen)!;
    expect(paintedPart(mask, HALF - unsure, HALF - 3)).toBeGreaterThan(0.9);
    expect(paintedPart(mask, HALF + 3, HALF + unsure)).toBeLessThan(0.1);
    // The middle of land that is unlit beyond doubt is the ambient light on ground of middling reflectance.
    expect(Math.abs(land.ambientStops - AMBIENT)).toBeLessThan(0.2);
  });

  it('is none where it is no lighter than unlit land', () => {
    const { grid, mask } = patchyGround(0.5, -30, 1.2);
    splitPaint(
      grid,
      mask,
      odds(mask.length, (x) => (x < HALF ? 3 : -4)),
    );
    expect(mask.includes(REGION.painted)).toBe(false);
  });
});

describe('a trace of paint', () => {
  it('is none: there is nothing to balance the sky with', () => {
    const painted = (columns: number): boolean => {
      const { grid, mask } = patchyGround(0.5, -4.5, 1.2);
      splitPaint(
        grid,
        mask,
        odds(mask.length, (x) => (x < columns ? 6 : -6)),
      );
      return mask.includes(REGION.painted);
    };
    expect(painted(1)).toBe(false);
    expect(painted(20)).toBe(true);
  });
});

describe('sources that a network has seen', () => {
  const size = 80;
  const black = (): Float32Array => new Float32Array(size * size);
  const burnt = new Uint8Array(size * size);
  for (let y = 40; y < 44; y++) for (let x = 40; x < 44; x++) burnt[y * size + x] = 1;
  const luminance = Float32Array.from(burnt);
  const grid: Grid = { width: size, height: size, blockPx: 4, luminance, red: black(), green: black(), blue: black() };
  const found = (seen: Float32Array | null): number =>
    findSources(grid, new Uint8Array(size * size), burnt, seen).sources.length;

  it('are lamps unless it is sure that they are none', () => {
    expect(found(null)).toBe(1);
    expect(found(black().fill(-3))).toBe(1);
    expect(found(black().fill(-9))).toBe(0);
    const spot = black().fill(-9);
    spot[41 * size + 41] = 1;
    expect(found(spot)).toBe(1);
  });
});

import { describe, expect, it } from 'vitest';
import { splitPaint } from '../../src/segment/paint.js';
import { AMBIENT, WIDTH, HORIZON, paintedPart, patchyGround } from '../support/patchyGround.js';

describe('ground of many reflectances', () => {
  it.each([
    { name: 'a neutral lamp', spreadStops: 0.5, warmth: 0.1 },
    { name: 'a warm lamp', spreadStops: 0.5, warmth: 1.2 },
    { name: 'a warm lamp, stone beside peat', spreadStops: 0.8, warmth: 1.2 },
  ])('is painted only where $name lights it', ({ spreadStops, warmth }) => {
    const { grid, mask } = patchyGround(spreadStops, -2.3, warmth);
    const land = splitPaint(grid, mask)!;
    expect(Math.abs(land.ambientStops - AMBIENT)).toBeLessThan(0.45);
    expect(paintedPart(mask, 0, WIDTH / 2 - 5)).toBeGreaterThan(0.95);
    expect(paintedPart(mask, WIDTH / 2 + 5, WIDTH)).toBeLessThan(0.1);
  });

  it('dimly lit all over by a warm lamp it is painted, and its ambient light is not taken for brighter', () => {
    const { grid, mask } = patchyGround(0.15, AMBIENT + 0.8, 2);
    for (let i = HORIZON * WIDTH; i < mask.length; i++) {
      const from = i % WIDTH < WIDTH / 2 ? i : i - WIDTH / 2;
      for (const plane of [grid.luminance, grid.red, grid.green, grid.blue]) plane[i] = plane[from]!;
    }
    const land = splitPaint(grid, mask)!;
    expect(land.ambientStops).toBeLessThan(AMBIENT + 0.5);
    expect(paintedPart(mask, 0, WIDTH)).toBeGreaterThan(0.8);
  });
});

import { describe, expect, it } from 'vitest';
import { REGION, type Grid } from '../../src/model/regions.js';
import { seededRandom } from '../../src/math/random.js';
import { splitPaint } from '../../src/segment/paint.js';

const WIDTH = 240;
const HEIGHT = 160;
const HORIZON = 70;
const SHORE = 130;

/** Light of red, green and blue. */
type Light = readonly [number, number, number];

const SKY: Light = [0.016, 0.018, 0.024];

/**
 * Sky above, water below it that returns a third of the sky's light, a painted bank before it in the left half and a dim one in the right,
 * each with grain of a tenth. Reflectance of water at a low angle: Fresnel's equations.
 */
function lake(paint: Light, dim: Light): { grid: Grid; mask: Uint8Array } {
  const random = seededRandom(5);
  const planes = [0, 1, 2].map(() => new Float32Array(WIDTH * HEIGHT));
  const mask = new Uint8Array(WIDTH * HEIGHT).fill(REGION.unlit).fill(REGION.sky, 0, HORIZON * WIDTH);
  for (let i = 0; i < mask.length; i++) {
    const y = Math.floor(i / WIDTH);
    const light = y < HORIZON ? SKY : y < SHORE ? SKY.map((c) => c / 3) : i % WIDTH < WIDTH / 2 ? paint : dim;
    planes.forEach((plane, c) => (plane[i] = light[c]! * (1 + 0.1 * random.gaussian())));
  }
  const [red, green, blue] = planes as [Float32Array, Float32Array, Float32Array];
  const luminance = red.map((value, i) => 0.2126 * value + 0.7152 * green[i]! + 0.0722 * blue[i]!);
  return { grid: { width: WIDTH, height: HEIGHT, blockPx: 4, luminance, red, green, blue }, mask };
}

function partOf(mask: Uint8Array, value: number, from: number, to: number, left: boolean): number {
  let count = 0;
  let all = 0;
  for (let i = from * WIDTH; i < to * WIDTH; i++) {
    if (i % WIDTH < WIDTH / 2 !== left) continue;
    all++;
    if (mask[i] === value) count++;
  }
  return count / all;
}

describe('a black silhouette', () => {
  it('has no painted rim, though light of the sky strays a few blocks into it', () => {
    const { grid, mask } = lake([0, 0, 0], [0, 0, 0]);
    for (let i = HORIZON * WIDTH; i < mask.length; i++) {
      const stray = i < (HORIZON + 1) * WIDTH && i % 4 === 0 ? 0.02 : 0;
      grid.luminance[i] = grid.red[i] = grid.green[i] = grid.blue[i] = stray;
    }
    splitPaint(grid, mask);
    expect(mask.includes(REGION.painted)).toBe(false);
  });
});

describe('water that mirrors the sky', () => {
  const { grid, mask } = lake([0.12, 0.08, 0.04], [0.0012, 0.001, 0.0009]);
  const land = splitPaint(grid, mask)!;

  it('is not painted, up to its shore, though it is brighter than the dim bank', () => {
    expect(partOf(mask, REGION.unlit, HORIZON, SHORE, true)).toBeGreaterThan(0.98);
    expect(partOf(mask, REGION.unlit, HORIZON, SHORE, false)).toBeGreaterThan(0.98);
    expect(partOf(mask, REGION.painted, SHORE, HEIGHT, true)).toBeGreaterThan(0.95);
  });

  it('is not the ambient light on land', () => {
    expect(Math.abs(land.ambientStops - Math.log2(0.0010355))).toBeLessThan(0.4);
    expect(land.water).not.toBeNull();
  });

  it("is not seen in lamp-lit land of the sky's own colour, which has texture", () => {
    const even = lake([0.12, 0.08, 0.04], [0.007, 0.006, 0.0055]);
    const random = seededRandom(9);
    const marks = Array.from({ length: WIDTH * HEIGHT }, () => 2 ** (0.35 * random.gaussian()));
    for (let i = HORIZON * WIDTH; i < SHORE * WIDTH; i++) {
      const mark = marks[Math.floor(i / WIDTH / 3) * WIDTH + Math.floor((i % WIDTH) / 3)]!;
      for (const plane of ['red', 'green', 'blue', 'luminance'] as const) even.grid[plane][i]! *= mark;
    }
    expect(splitPaint(even.grid, even.mask)!.water).toBeNull();
  });

  it('has the colour of a glow where it mirrors the horizon', () => {
    const glowing = lake([0.12, 0.08, 0.04], [0.0012, 0.001, 0.0009]);
    const warmer = (i: number, share: number): void => {
      glowing.grid.red[i]! *= 1 + share;
      glowing.grid.blue[i]! /= 1 + share;
    };
    for (let row = 0; row < 12; row++)
      for (let x = 0; x < WIDTH; x++) {
        warmer((HORIZON - 1 - row) * WIDTH + x, 0.5 * (1 - row / 12));
        warmer((HORIZON + row) * WIDTH + x, 0.5 * (1 - row / 12));
      }
    splitPaint(glowing.grid, glowing.mask);
    expect(partOf(glowing.mask, REGION.unlit, HORIZON, SHORE, true)).toBeGreaterThan(0.97);
    expect(partOf(glowing.mask, REGION.painted, SHORE, HEIGHT, true)).toBeGreaterThan(0.95);
  });

  it('has the colour of the glow that stands over it, be it over a part of the horizon only', () => {
    const glowing = lake([0.12, 0.08, 0.04], [0.0012, 0.001, 0.0009]);
    const warm = (i: number): void => {
      glowing.grid.red[i]! *= 1.45;
      glowing.grid.blue[i]! /= 1.45;
    };
    for (let row = 0; row < 20; row++)
      for (let x = 0; x < 80; x++) {
        warm((HORIZON - 1 - row) * WIDTH + x);
        warm((HORIZON + row) * WIDTH + x);
      }
    splitPaint(glowing.grid, glowing.mask);
    expect(partOf(glowing.mask, REGION.unlit, HORIZON, SHORE, true)).toBeGreaterThan(0.97);
    expect(partOf(glowing.mask, REGION.painted, SHORE, HEIGHT, true)).toBeGreaterThan(0.95);
  });

  it('holds dark hills between it and a painted shore, which are neither paint nor the ambient light', () => {
    const shore = lake([0.12, 0.08, 0.04], [0.12, 0.08, 0.04]);
    const { grid: own, mask: found } = shore;
    const [hills, mirrored] = [HORIZON - 12, HORIZON + 6];
    for (let i = hills * WIDTH; i < mirrored * WIDTH; i++) {
      found[i] = REGION.unlit;
      const light: Light = i < HORIZON * WIDTH ? [0.05, 0.034, 0.018] : [0.0009, 0.0007, 0.0004];
      [own.red[i], own.green[i], own.blue[i]] = light;
      own.luminance[i] = 0.2126 * light[0] + 0.7152 * light[1] + 0.0722 * light[2];
    }
    splitPaint(own, found);
    expect(partOf(found, REGION.painted, hills, HORIZON, true)).toBeGreaterThan(0.9);
    expect(partOf(found, REGION.unlit, HORIZON, mirrored, true)).toBeGreaterThan(0.8);
  });

  it('is not seen in land of another colour as bright as it', () => {
    const moonlit = lake([0.12, 0.08, 0.04], [0.007, 0.006, 0.0055]);
    for (let i = HORIZON * WIDTH; i < SHORE * WIDTH; i++) {
      moonlit.grid.red[i]! *= 1.6;
      moonlit.grid.blue[i]! *= 0.8;
    }
    expect(splitPaint(moonlit.grid, moonlit.mask)!.water).toBeNull();
  });
});

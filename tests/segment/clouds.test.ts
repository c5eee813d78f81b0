import { describe, expect, it } from 'vitest';
import type { Grid } from '../../src/model/regions.js';
import { returnClouds } from '../../src/segment/clouds.js';

const [WIDTH, HEIGHT] = [640, 420];
const SKY_STOPS = -5;

/** A frame of sky over ground, and in the sky what `over` (stops over the sky) says; what `taken` says was taken for land. */
function frame(
  over: (x: number, y: number) => number,
  taken: (x: number, y: number) => boolean,
): { grid: Grid; sky: Uint8Array } {
  const luminance = new Float32Array(WIDTH * HEIGHT);
  const sky = new Uint8Array(WIDTH * HEIGHT);
  for (let y = 0; y < HEIGHT; y++)
    for (let x = 0; x < WIDTH; x++) {
      const ground = y > 330;
      luminance[y * WIDTH + x] = 2 ** (ground ? -8 : SKY_STOPS + over(x, y));
      sky[y * WIDTH + x] = ground || taken(x, y) ? 0 : 1;
    }
  const grid = {
    width: WIDTH,
    height: HEIGHT,
    blockPx: 2,
    red: luminance,
    green: luminance,
    blue: luminance,
    luminance,
  };
  return { grid, sky };
}

const away = (x: number, y: number): number => Math.hypot(x - 200, y - 20);

describe('cloud that was taken for land', () => {
  it('is sky again: it hangs in the frame, a little brighter than the clear sky, and fades into it', () => {
    const { grid, sky } = frame(
      (x, y) => 2.5 * Math.exp(-((away(x, y) / 130) ** 2)),
      (x, y) => away(x, y) < 150,
    );
    expect(returnClouds(sky, grid)).toBe(true);
    const above = sky.subarray(0, 330 * WIDTH);
    expect(above.reduce((sum, own) => sum + own, 0) / above.length).toBeGreaterThan(0.99);
    expect(sky.subarray(332 * WIDTH).every((own) => own === 0)).toBe(true);
  });

  it('the lit roof of a cave, dark boughs, and what stands on the ground stay land', () => {
    const inside = (x: number, y: number): boolean => away(x, y) < 150;
    const roof = frame((x, y) => (inside(x, y) ? 1.5 : 0), inside);
    const leaves = frame((x, y) => (inside(x, y) ? 0.5 + 0.4 * Math.sin(x * 1.1) * Math.sin(y * 0.9 + x) : 0), inside);
    const boughs = frame((x, y) => (inside(x, y) ? -0.8 : 0), inside);
    const pillar = (x: number, y: number): boolean => x > 300 && x < 380 && y > 40;
    const standing = frame((x, y) => (pillar(x, y) ? 0.5 : 0), pillar);
    for (const { grid, sky } of [roof, leaves, boughs, standing]) {
      const before = sky.slice();
      expect(returnClouds(sky, grid)).toBe(false);
      expect(sky).toEqual(before);
    }
  });

  it('tiny frames are left alone', () => {
    const plane = new Float32Array(4).fill(0.1);
    const grid = { width: 2, height: 2, blockPx: 1, red: plane, green: plane, blue: plane, luminance: plane };
    expect(returnClouds(new Uint8Array(4), grid)).toBe(false);
  });
});

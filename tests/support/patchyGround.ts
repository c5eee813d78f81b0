import { seededRandom } from '../../src/math/random.js';
import { REGION, type Grid } from '../../src/model/regions.js';

export const WIDTH = 300;
const HEIGHT = 200;
export const HORIZON = 90;

/** Log2 of the ambient light on ground of middling reflectance: 2.8 stops under a sky of -4 (half of the sky's light, times 0.29). */
export const AMBIENT = -6.8;

/**
 * Ground of many reflectances (patches of moss, soil and stone, half a stop of standard deviation or more; brown or green), the left half
 * lit by a lamp of `warmth` = log2(R/B) to `litStops`, the right half by the sky alone. Invented.
 */
export function patchyGround(spreadStops: number, litStops: number, warmth: number): { grid: Grid; mask: Uint8Array } {
  const random = seededRandom(11);
  const patches = new Map<number, { stops: number; brown: number }>();
  const patchAt = (x: number, y: number): { stops: number; brown: number } => {
    const key = Math.floor(y / 9) * 1000 + Math.floor(x / 13);
    const known = patches.get(key) ?? { stops: spreadStops * random.gaussian(), brown: 0.5 + 0.15 * random.gaussian() };
    patches.set(key, known);
    return known;
  };
  const planes = [0, 1, 2].map(() => new Float32Array(WIDTH * HEIGHT));
  const mask = new Uint8Array(WIDTH * HEIGHT).fill(REGION.unlit).fill(REGION.sky, 0, HORIZON * WIDTH);
  for (let i = 0; i < mask.length; i++) {
    const [x, y] = [i % WIDTH, Math.floor(i / WIDTH)];
    const patch = patchAt(x, y);
    const grain = 1 + 0.06 * random.gaussian();
    const light = [0, 1, 2].map((c) => {
      const bluish = 2 ** (0.2 * (c - 1));
      if (y < HORIZON) return 2 ** -4 * bluish;
      const lamp = x < WIDTH / 2 ? 2 ** litStops * 2 ** ((warmth / 2) * (1 - c)) : 0;
      return (2 ** AMBIENT * bluish + lamp) * 2 ** patch.stops * 2 ** ((patch.brown / 2) * (1 - c));
    });
    planes.forEach((plane, c) => (plane[i] = light[c]! * grain));
  }
  const [red, green, blue] = planes as [Float32Array, Float32Array, Float32Array];
  const luminance = red.map((value, i) => 0.2126 * value + 0.7152 * green[i]! + 0.0722 * blue[i]!);
  return { grid: { width: WIDTH, height: HEIGHT, blockPx: 4, luminance, red, green, blue }, mask };
}

export function paintedPart(mask: Uint8Array, from: number, to: number): number {
  let painted = 0;
  let all = 0;
  for (let i = HORIZON * WIDTH; i < mask.length; i++) {
    if (i % WIDTH < from || i % WIDTH >= to) continue;
    all++;
    if (mask[i] === REGION.painted) painted++;
  }
  return painted / all;
}

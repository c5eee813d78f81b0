import { describe, expect, it } from 'vitest';
import { likelyLift, tellsOwnCurve } from '../../src/calibration/cameraLift.js';
import { seededRandom } from '../../src/math/random.js';
import { CODE_STEPS, type StarProfile } from '../../src/measure/starCurve/profiles.js';
import { hintOf } from '../../src/measure/starCurve/starsTellCurve.js';
import { DEFAULT_WISHES } from '../../src/model/wishes.js';
import { linearToSrgb, srgbToLinear } from '../../src/physics/encoding.js';
import { readOneFrame } from '../../src/pipeline/readOneFrame.js';
import { encodeShot } from '../../src/scene/encode.js';
import { randomScene } from '../../src/scene/randomScene.js';
import { openScene } from '../../src/scene/shoot.js';

const SKY_STOPS = -4.5;

/** Stars of one round figure, 1.1 pixels wide, of many brightnesses and places, shown by a display curve; `growth` widens those far from the middle. */
function shown(count: number, curve: (light: number) => number, growth = 0): StarProfile[] {
  const random = seededRandom(3);
  const sky = 2 ** SKY_STOPS;
  const code = (light: number): number =>
    Math.round(CODE_STEPS * Math.max(0, Math.min(1, curve(Math.max(0, light)) + 0.004 * random.gaussian())));
  return Array.from({ length: count }, () => {
    const [x, y] = [random.between(-0.5, 0.5), random.between(-0.5, 0)];
    const [px, py] = [random.between(-0.5, 0.5), random.between(-0.5, 0.5)];
    const sigma = 1.1 * (1 + growth * (x * x + y * y));
    const flux = sky * 2 ** random.between(-0.5, 4.2);
    const at = (dx: number, dy: number): number =>
      sky + flux * Math.exp(-((dx - px) ** 2 + (dy - py) ** 2) / (2 * sigma ** 2));
    const [core, skirt, ring]: [number[], number[], number[]] = [[], [], []];
    for (let dy = -9; dy <= 9; dy++)
      for (let dx = -9; dx <= 9; dx++) {
        const far = Math.max(Math.abs(dx), Math.abs(dy));
        const r = Math.hypot(dx, dy);
        const into = far <= 1 ? core : far <= 3 ? skirt : r > 5 && r < 9 ? ring : null;
        into?.push(code(at(dx, dy)));
      }
    const middle = core.reduce((sum, value) => sum + value / core.length, 0) / CODE_STEPS;
    const to16 = (values: number[]) => Uint16Array.from(values);
    return {
      x,
      y,
      contrast: middle - curve(sky),
      noise: 0.004,
      core: to16(core),
      skirt: to16(skirt),
      ring: to16(ring),
    };
  }).filter(({ contrast, core }) => contrast > 0.05 && Math.max(...core) < 0.96 * CODE_STEPS);
}

/** Brightened by so many stops and rolled so that white stays white. */
const lifted =
  (stops: number) =>
  (light: number): number =>
    linearToSrgb((light * 2 ** stops) / (1 + (2 ** stops - 1) * light));

/** How far the file shows the sky over its light, stops: in truth, and as told. */
function lifts(curve: (light: number) => number, growth = 0): { true: number; told: number } {
  const read = Math.log2(srgbToLinear(curve(2 ** SKY_STOPS)));
  const hint = hintOf(shown(300, curve, growth));
  return { true: read - SKY_STOPS, told: likelyLift(0.5, hint).at(read) };
}

describe('what the shapes of stars tell of a display curve', () => {
  it('a plain file shows no lift', () => {
    expect(lifts(linearToSrgb).told).toBeLessThan(0.25);
  });

  it('a lifted file shows one, the larger the more it is lifted', () => {
    const [some, much] = [lifts(lifted(0.6)), lifts(lifted(1.2))];
    expect(Math.abs(some.told - some.true)).toBeLessThan(0.25);
    // What cameras' curves have in common holds it back; without its stars it would be told 0.8 too low.
    expect(Math.abs(much.told - much.true)).toBeLessThan(0.5);
    expect(much.told).toBeGreaterThan(some.told + 0.15);
  });

  it('stars that grow towards the corners are no lift', () => {
    expect(lifts(linearToSrgb, 1.5).told).toBeLessThan(0.25);
  });

  it('few stars tell less than many', () => {
    const told = [35, 300].map((count) => likelyLift(0.5, hintOf(shown(count, lifted(0.6)))).told);
    expect(told[0]).toBeLessThan(told[1]!);
    expect(told[1]).toBeLessThan(1);
  });

  it('a lifted file is told from a plain one', () => {
    expect(tellsOwnCurve(hintOf(shown(300, lifted(1.2)))!)).toBe(1);
    expect(tellsOwnCurve(hintOf(shown(300, linearToSrgb))!)).toBe(0);
  });

  it('a file whose curve is known has no lift, whatever its stars seem to tell', () => {
    expect(likelyLift(0.1, hintOf(shown(300, lifted(1.2)))).at(-4)).toBe(0);
  });
});

describe('the stars of a scene shot as JPEG', () => {
  const spec = randomScene(900004, { widthPx: 1600, heightPx: 1067 });
  const shot = openScene(spec).shoot(spec.settings, spec.lamps);
  const liftOf = async (bytes: Buffer): Promise<number> => {
    const { reading } = await readOneFrame(bytes, 'scene.jpg', {}, [], DEFAULT_WISHES);
    expect(reading.encoding.levelUncertaintyStops).toBe(0.5);
    expect(reading.curveHint).not.toBeNull();
    return likelyLift(0.5, reading.curveHint).at(reading.regions.sky.levelStops!);
  };

  it('show a lift where the camera lifts, and little where it does not', { timeout: 60_000 }, async () => {
    const plain = await liftOf(await encodeShot(shot, 'jpeg'));
    const light = shot.light.map((value) => (2.2 * value) / (1 + 1.2 * value));
    const camera = await liftOf(await encodeShot({ ...shot, light }, 'jpeg'));
    expect(plain).toBeLessThan(0.3);
    expect(camera).toBeGreaterThan(plain + 0.15);
  });

  it('are not asked in a file of 16 bits', { timeout: 60_000 }, async () => {
    const { reading } = await readOneFrame(await encodeShot(shot, 'srgb16'), 'scene.tif', {}, [], DEFAULT_WISHES);
    expect(reading.curveHint).toBeNull();
  });
});

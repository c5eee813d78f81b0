import { describe, expect, it } from 'vitest';
import { skyTest } from '../../src/measure/pointing/framing.js';
import { centreOf, findPointing } from '../../src/measure/pointing/pointing.js';
import { framingOf } from '../../src/pipeline/skyOfFrame.js';
import { solvePointing } from '../../src/measure/pointing/solve.js';
import { checkTrails, mapShutter } from '../../src/measure/pointing/trails.js';
import { spotOf } from '../../src/physics/camera.js';
import type { Projection } from '../../src/physics/lens.js';
import { equatorialToLocal, localToCamera, multiply, unitVector } from '../../src/physics/projection.js';
import { median } from '../../src/math/statistics.js';
import { readOneFrame } from '../../src/pipeline/readOneFrame.js';
import { DEFAULT_WISHES } from '../../src/model/wishes.js';
import { encodeShot } from '../../src/scene/encode.js';
import { shoot, smallScene } from '../support/scenes.js';
import { apartDeg, noStarField, starField } from '../support/starField.js';

/** Hipparcos stars (d3-celestial) through lenses in closed form; the place of each is the truth. */
const LENSES: readonly (readonly [number, Projection])[] = [
  [7, 'equisolid'],
  [8, 'equidistant'],
  [8, 'stereographic'],
  [12, 'equisolid'],
  [14, 'rectilinear'],
  [16, 'rectilinear'],
  [24, 'rectilinear'],
  [35, 'rectilinear'],
];

describe('where a frame looks', () => {
  const fields = LENSES.flatMap(([focalMm, projection], n) =>
    [0, 1, 2].map((round) => ({ seed: 300 + 10 * n + round, focalMm, projection })),
  );
  it('nearly every field is found, none wrong: pointing within 0.2 and roll within 0.3 degrees', () => {
    let found = 0;
    for (const { seed, focalMm, projection } of fields) {
      const { camera, points, view } = starField(seed, focalMm, projection);
      const solution = solvePointing(points, view);
      if (solution === null) continue;
      found++;
      const name = `seed ${String(seed)}, ${String(focalMm)} mm ${projection}`;
      expect(apartDeg(camera, solution.camera), name).toBeLessThan(0.2);
      const [must, is] = [centreOf(camera), centreOf(solution.camera)];
      const roll = ((is.rollDeg - must.rollDeg + 540) % 360) - 180;
      if (Math.abs(must.decDeg) < 85) expect(Math.abs(roll), name).toBeLessThan(0.3);
      expect(Math.abs(solution.camera.focalPx / camera.focalPx - 1), name).toBeLessThan(0.02);
    }
    expect(found).toBeGreaterThanOrEqual(Math.ceil(0.95 * fields.length));
  });
  it('a focal length that is not told is searched for', () => {
    for (const seed of [401, 402, 403]) {
      const { camera, points, view } = starField(seed, 20, 'rectilinear');
      const solution = solvePointing(points, { ...view, focalPx: null });
      expect(solution).not.toBeNull();
      expect(apartDeg(camera, solution!.camera)).toBeLessThan(0.2);
    }
  });
  it('points that are no stars are found nowhere', () => {
    for (let seed = 1; seed <= 6; seed++) {
      const { points, view } = noStarField(seed, [8, 14, 20, 24, 35][seed % 5]!);
      expect(solvePointing(points, view), `seed ${String(seed)}`).toBeNull();
    }
  });
  it('too few points are no answer', () => {
    const { points, view } = starField(5, 24, 'rectilinear');
    expect(solvePointing(points.slice(0, 6), view)).toBeNull();
    expect(solvePointing([], view)).toBeNull();
  });
});

describe('a rendered frame', () => {
  it.each([
    ['upright', 21, 20, {}],
    ['long trails', 22, 30, { settings: { iso: 1600, shutterSeconds: 60, aperture: 2.8 } }],
  ] as const)('%s: direction, roll and trails are those of the scene', async (_, seed, focalMm, changes) => {
    const spec = smallScene(seed, {
      focalMm,
      skyStops: -4.5,
      cloud: 0,
      moon: false,
      comaPx: 0,
      shakePx: 0,
      defocusPx: 0,
      ...changes,
    });
    const shot = shoot(spec);
    const result = await readOneFrame(await encodeShot(shot, 'srgb16'), 'a.tif', {}, [], DEFAULT_WISHES);
    const { reading, grid, regions, detection, shapes } = result;
    const { solution } = findPointing(reading.settings, grid, detection, skyTest(framingOf(grid, regions.mask)));
    expect(solution).not.toBeNull();
    const truth = {
      ...solution!.camera,
      toCamera: multiply(
        localToCamera(spec.azimuthDeg, spec.altitudeDeg),
        equatorialToLocal(spec.siderealDeg, spec.latitudeDeg),
      ),
    };
    const [must, is] = [centreOf(truth), centreOf(solution!.camera)];
    expect(Math.abs(is.decDeg - must.decDeg)).toBeLessThan(0.05);
    expect(Math.abs(is.raDeg - must.raDeg) * Math.cos((must.decDeg * Math.PI) / 180)).toBeLessThan(0.05);
    expect(Math.abs(is.rollDeg - must.rollDeg)).toBeLessThan(0.1);
    // The scene draws its sky for the pole of its own catalogue (J2000).
    const isSky = skyTest(framingOf(grid, regions.mask));
    const check = checkTrails(solution!.camera, [0, 0, 1], spec.settings.shutterSeconds, isSky, shapes)!;
    const drawn = median(shot.truth.stars.filter(({ x, y }) => isSky(x, y)).map(({ trailPx }) => trailPx));
    expect(Math.abs(check.predictedMedianPx / drawn - 1)).toBeLessThan(0.15);
    if (drawn > 3) expect(Math.abs(check.measuredPx! / check.predictedMedianPx - 1)).toBeLessThan(0.15);
    const map = mapShutter(solution!.camera, [0, 0, 1], isSky, 3)!;
    expect(map.seconds).toHaveLength(map.columns * map.rows);
    expect(map.shortestSeconds).toBeLessThanOrEqual(map.medianSeconds);
    // Trail and shutter are in proportion: what trails worst allows least.
    expect(
      Math.abs((map.shortestSeconds * check.predictedWorstPx) / (3 * spec.settings.shutterSeconds) - 1),
    ).toBeLessThan(0.1);
  });
  it('a spot of the sky is where the scene draws it', () => {
    const spec = smallScene(23, { focalMm: 16 });
    const camera = {
      toCamera: multiply(
        localToCamera(spec.azimuthDeg, spec.altitudeDeg),
        equatorialToLocal(spec.siderealDeg, spec.latitudeDeg),
      ),
      projection: 'rectilinear' as const,
      focalPx: (16 * 1000) / spec.pixelPitchUm,
      distortion: [0, 0] as const,
      widthPx: spec.widthPx,
      heightPx: spec.heightPx,
      axis: { x: (spec.widthPx - 1) / 2, y: (spec.heightPx - 1) / 2 },
    };
    // Upright: the zenith is above the middle, the pole's altitude is the latitude.
    const pole = spotOf(
      { ...camera, toCamera: multiply(localToCamera(0, 30), equatorialToLocal(spec.siderealDeg, 30)) },
      unitVector(0, 90),
    )!;
    expect(pole.x).toBeCloseTo(camera.axis.x, 6);
    expect(pole.y).toBeCloseTo(camera.axis.y, 6);
  });
});

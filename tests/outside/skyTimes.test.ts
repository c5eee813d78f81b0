import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { crossingOf } from '../../src/measure/pointing/bodyTrack.js';
import { checkClock, stanceOf } from '../../src/measure/pointing/level.js';
import { skyTest } from '../../src/measure/pointing/framing.js';
import { findPointing } from '../../src/measure/pointing/pointing.js';
import { framingOf } from '../../src/pipeline/skyOfFrame.js';
import { DEFAULT_WISHES } from '../../src/model/wishes.js';
import { directionOf, type Camera } from '../../src/physics/camera.js';
import { moonMoments, placeOf, sunMoments, zenithAt } from '../../src/physics/ephemeris.js';
import {
  longitudeLatitude,
  multiply,
  localToCamera,
  unitVector,
  type Rotation,
  type Vector,
} from '../../src/physics/projection.js';
import { CORE_DIRECTION, poleOfDate } from '../../src/physics/skyMotion.js';
import { readOneFrame } from '../../src/pipeline/readOneFrame.js';
import { SHARED_ABSENT, sharedFile } from '../support/shared.js';

const PLACE = [38, -3] as const;

/** astropy 5.2.1, AltAz without refraction, 38 N 3 W, Sgr A* and Vega (J2000), run for this test on 2026-11-25. */
describe('altitude and azimuth against astropy', () => {
  it.each([
    ['2026-07-14T22:30:00Z', CORE_DIRECTION, 22.9796, 180.4326],
    ['2026-07-15T01:00:00Z', CORE_DIRECTION, 14.1178, 213.7698],
    ['2026-05-01T03:00:00Z', CORE_DIRECTION, 22.7638, 174.5211],
    ['2026-07-14T22:30:00Z', unitVector(279.2347, 38.7837), 80.4414, 81.3914],
  ] as const)('%s', (at, direction, altitude, azimuth) => {
    const place = placeOf(direction, new Date(at), ...PLACE);
    expect(Math.abs(place.altitudeDeg - altitude)).toBeLessThan(0.02);
    expect(Math.abs(place.azimuthDeg - azimuth)).toBeLessThan(0.02);
  });
});

/** East, north, up of a place in J2000 axes, from the zenith and the pole of date. */
function levelCamera(at: Date, azimuthDeg: number, altitudeDeg: number, leanDeg = 0): Camera {
  const up = zenithAt(at, ...PLACE);
  const pole = poleOfDate(at);
  const along = up[0] * pole[0] + up[1] * pole[1] + up[2] * pole[2];
  const north = unit([pole[0] - along * up[0], pole[1] - along * up[1], pole[2] - along * up[2]]);
  const east: Vector = [
    north[1] * up[2] - north[2] * up[1],
    north[2] * up[0] - north[0] * up[2],
    north[0] * up[1] - north[1] * up[0],
  ];
  const toLocal: Rotation = [...east, ...north, ...up];
  const lean = (leanDeg * Math.PI) / 180;
  const roll: Rotation = [Math.cos(lean), -Math.sin(lean), 0, Math.sin(lean), Math.cos(lean), 0, 0, 0, 1];
  return {
    toCamera: multiply(roll, multiply(localToCamera(azimuthDeg, altitudeDeg), toLocal)),
    projection: 'rectilinear',
    focalPx: 2333,
    distortion: [0, 0],
    widthPx: 6000,
    heightPx: 4000,
    axis: { x: 2999.5, y: 1999.5 },
  };
}

function unit(v: Vector): Vector {
  const size = Math.hypot(...v);
  return [v[0] / size, v[1] / size, v[2] / size];
}

describe('when the core stands there', () => {
  // astropy as above: the core is due south at 22:28:11 UTC and at azimuth 190 degrees at 23:10:26 UTC, 2026-07-14.
  it.each([
    [180, '2026-07-14T22:28:11Z'],
    [190, '2026-07-14T23:10:26Z'],
  ])('azimuth %f', (azimuth, wanted) => {
    const at = new Date('2026-07-14T21:10:12Z');
    const standing = { camera: levelCamera(at, azimuth, 8), pole: poleOfDate(at), isSky: () => true };
    const body = { directionAt: () => CORE_DIRECTION, upAt: () => true };
    const over = crossingOf(standing, body, { x: 2999.5, y: 3000 }, -6 * 3600, 6 * 3600)!;
    const offMinutes = (at.getTime() + over.seconds * 1000 - Date.parse(wanted)) / 60_000;
    expect(Math.abs(offMinutes)).toBeLessThan(0.5);
  });
  it('a stance is what the camera was given', () => {
    const at = new Date('2026-07-14T21:10:12Z');
    const stance = stanceOf(levelCamera(at, 205, 12, 3), at, ...PLACE);
    expect(stance.azimuthDeg).toBeCloseTo(205, 2);
    expect(stance.altitudeDeg).toBeCloseTo(12, 2);
    expect(Math.abs(stance.tiltDeg)).toBeCloseTo(3, 1);
  });
  it.each([0, 62, -60, 120])('a clock that is %f minutes ahead is seen', (ahead) => {
    const at = new Date('2026-07-14T21:10:12Z');
    const camera = levelCamera(at, 190, 10, 0.3);
    const check = checkClock(camera, new Date(at.getTime() + ahead * 60_000), ...PLACE)!;
    expect(Math.abs(check.offsetMinutes - ahead)).toBeLessThan(check.uncertaintyMinutes);
    expect(check.uncertaintyMinutes).toBeLessThan(15);
  });
});

describe('twilights and moonrise', () => {
  // USNO twilights for Defiance, Ohio, 2019-11-08 UTC, whole minutes (held in the skyfield test suite).
  it('Defiance, Ohio', () => {
    const from = new Date('2019-11-08T17:00:00Z');
    const evening = sunMoments(from, new Date('2019-11-09T17:00:00Z'), 41.281944, -84.362778);
    const morning = sunMoments(new Date('2019-11-08T05:00:00Z'), from, 41.281944, -84.362778);
    const close = (at: Date | null, time: string): void => {
      expect(Math.abs(at!.getTime() - Date.parse(`2019-11-08T${time}:00Z`))).toBeLessThan(61_000);
    };
    close(morning.astronomicalDawn, '10:42');
    close(morning.nauticalDawn, '11:15');
    close(morning.civilDawn, '11:48');
    close(morning.sunrise, '12:17');
    close(evening.sunset, '22:25');
    close(evening.civilDusk, '22:54');
    close(evening.nauticalDusk, '23:27');
    close(evening.astronomicalDusk, '23:59');
  });
  it('no night at midsummer beyond the polar circle', () => {
    const from = new Date('2026-06-21T10:00:00Z');
    const sun = sunMoments(from, new Date('2026-06-22T10:00:00Z'), 68, 25);
    expect(Object.values(sun).every((at) => at === null)).toBe(true);
  });
  it('a full Moon rises near sunset', () => {
    // USNO: full Moon 2018-09-25 02:52 UTC (held in the skyfield test suite).
    const from = new Date('2018-09-24T17:00:00Z');
    const to = new Date('2018-09-25T17:00:00Z');
    const moon = moonMoments(from, to, 40.8939, -83.8917);
    const sun = sunMoments(from, to, 40.8939, -83.8917);
    expect(Math.abs(moon.rise!.getTime() - sun.sunset!.getTime())).toBeLessThan(45 * 60_000);
  });
});

/** Directions that were looked at with the constellations drawn over the picture: Beehive, core, Orion with Sirius, Canis Major, Lynx. */
const PHOTOGRAPHS = [
  ['dunes-moonlit.jpg', 127.2, 20.9],
  ['standing-figure.jpg', 264.0, -25.0],
  ['ridge-trails.jpg', 89.3, -19.7],
  ['posts-34s.jpg', 130.3, -25.5],
  ['dome-trails-180s.jpg', 119.8, 36.7],
] as const;

describe('real photographs', () => {
  it.each(PHOTOGRAPHS)('%s', async (name, raDeg, decDeg) => {
    const path = sharedFile('photos', name);
    if (path === null) {
      console.log(SHARED_ABSENT);
      return;
    }
    const { reading, grid, regions, detection } = await readOneFrame(readFileSync(path), name, {}, [], DEFAULT_WISHES);
    const { solution } = findPointing(reading.settings, grid, detection, skyTest(framingOf(grid, regions.mask)));
    expect(solution).not.toBeNull();
    const { widthPx, heightPx } = solution!.camera;
    const centre = longitudeLatitude(directionOf(solution!.camera, { x: (widthPx - 1) / 2, y: (heightPx - 1) / 2 })!);
    expect(Math.abs(centre.longitudeDeg - raDeg)).toBeLessThan(1);
    expect(Math.abs(centre.latitudeDeg - decDeg)).toBeLessThan(1);
  });
  it.each(['street-193508.jpg', 'street-200714.jpg', 'lit-tree-cloud.jpg', 'day-572.jpg'])(
    '%s: no sky is better than a wrong one',
    async (name) => {
      const path = sharedFile('photos', name);
      if (path === null) {
        console.log(SHARED_ABSENT);
        return;
      }
      const { reading, grid, regions, detection } = await readOneFrame(
        readFileSync(path),
        name,
        {},
        [],
        DEFAULT_WISHES,
      );
      expect(
        findPointing(reading.settings, grid, detection, skyTest(framingOf(grid, regions.mask))).solution,
      ).toBeNull();
    },
  );
});

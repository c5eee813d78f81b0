import type { Settings } from '../../model/frame.js';
import type { Grid } from '../../model/regions.js';
import { directionOf, type Camera } from '../../physics/camera.js';
import { longitudeLatitude, rotate } from '../../physics/projection.js';
import type { Detection } from '../stars/detect.js';
import type { SkyTest } from './framing.js';
import { solvePointing, type Solution } from './solve.js';
import { starPoints } from './starPoints.js';

/** Where a frame looks; `solution` is null when its stars are too few or are not found in the catalogue. */
export interface Pointing {
  readonly points: number;
  readonly solution: Solution | null;
}

/** Where the frame of these stars looks. */
export function findPointing(settings: Settings, grid: Grid, detection: Detection, isSky: SkyTest): Pointing {
  const { widthPx, heightPx, focalMm, pixelPitchUm } = settings;
  const points = starPoints(grid, detection);
  const focalPx = focalMm === null || pixelPitchUm === null ? null : (focalMm * 1000) / pixelPitchUm;
  const solution = solvePointing(points, { widthPx, heightPx, focalPx, isSky });
  return { points: points.length, solution };
}

/** Direction of the image centre (J2000, degrees) and the angle from image up to north, positive towards right. */
export function centreOf(camera: Camera): { raDeg: number; decDeg: number; rollDeg: number } {
  const middle = { x: (camera.widthPx - 1) / 2, y: (camera.heightPx - 1) / 2 };
  const direction = directionOf(camera, middle) ?? [camera.toCamera[6], camera.toCamera[7], camera.toCamera[8]];
  const { longitudeDeg, latitudeDeg } = longitudeLatitude(direction);
  // North at the centre: the part of the pole square to the direction, in camera axes.
  const pole = rotate(camera.toCamera, [0, 0, 1]);
  const ray = rotate(camera.toCamera, direction);
  const along = pole[0] * ray[0] + pole[1] * ray[1] + pole[2] * ray[2];
  const rollDeg = (Math.atan2(pole[0] - along * ray[0], -(pole[1] - along * ray[1])) * 180) / Math.PI;
  return { raDeg: longitudeDeg, decDeg: latitudeDeg, rollDeg };
}

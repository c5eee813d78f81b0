import { brightStars } from '../../src/calibration/brightStars.js';
import { seededRandom, type Random } from '../../src/math/random.js';
import type { StarPoint } from '../../src/measure/pointing/starPoints.js';
import type { View } from '../../src/measure/pointing/lensesToTry.js';
import { directionOf, spotOf, type Camera } from '../../src/physics/camera.js';
import type { Projection } from '../../src/physics/lens.js';
import { unitVector, type Rotation } from '../../src/physics/projection.js';

const WIDTH = 6000;
const HEIGHT = 4000;

export interface StarField {
  readonly camera: Camera;
  readonly points: readonly StarPoint[];
  readonly view: View;
}

/**
 * The points that a camera would find: catalogue stars over a ragged half of the frame, places a pixel off, magnitudes 0.35 off, one star in
 * eight missed, one point in seven no star at all; a lens that is bent, and a focal length told up to 8 % wrong.
 */
export function starField(seed: number, focalMm: number, projection: Projection): StarField {
  const random = seededRandom(seed * 77 + 5);
  const focalPx = (focalMm * 1000) / 6;
  const camera: Camera = {
    toCamera: anyRotation(random),
    projection,
    focalPx,
    distortion: [random.between(-0.03, 0.03), random.between(-0.01, 0.01)],
    widthPx: WIDTH,
    heightPx: HEIGHT,
    axis: { x: (WIDTH - 1) / 2, y: (HEIGHT - 1) / 2 },
  };
  const horizon = HEIGHT * random.between(0.45, 0.55);
  const isSky = (x: number, y: number): boolean =>
    x >= 0 && x < WIDTH && y >= 0 && y < horizon + 120 * Math.sin(x / 300);
  const points: StarPoint[] = [];
  for (const star of brightStars()) {
    const spot = spotOf(camera, unitVector(star.rightAscensionDeg, star.declinationDeg));
    if (spot === null || !isSky(spot.x, spot.y) || random.next() < 0.12) continue;
    const flux = 10 ** (-0.4 * (star.magnitude + 0.35 * random.gaussian()));
    points.push({ x: spot.x + random.gaussian(), y: spot.y + random.gaussian(), flux, contrast: flux });
  }
  const fluxes = points.map(({ flux }) => flux);
  for (let n = 0; n < fluxes.length / 7; n++) {
    const flux = fluxes[Math.floor(random.next() * fluxes.length)]!;
    points.push({ x: random.between(0, WIDTH), y: random.between(0, horizon - 120), flux, contrast: flux });
  }
  return {
    camera,
    points: points.sort((a, b) => b.flux - a.flux).slice(0, 400),
    view: { widthPx: WIDTH, heightPx: HEIGHT, focalPx: focalPx * random.between(0.92, 1.08), isSky },
  };
}

/** As many points as a field has, anywhere: no part of the sky. */
export function noStarField(seed: number, focalMm: number): Pick<StarField, 'points' | 'view'> {
  const random = seededRandom(seed * 13 + 1);
  const points = Array.from({ length: 200 }, () => {
    const flux = (1 - random.next()) ** (-1 / 1.2);
    return { x: random.between(0, WIDTH), y: random.between(0, HEIGHT * 0.6), flux, contrast: flux };
  });
  return {
    points: points.sort((a, b) => b.flux - a.flux),
    view: {
      widthPx: WIDTH,
      heightPx: HEIGHT,
      focalPx: (focalMm * 1000) / 6,
      isSky: (x, y) => x >= 0 && y >= 0 && x < WIDTH && y < HEIGHT * 0.6,
    },
  };
}

/** Degrees between the directions that two cameras see at the middle of the frame. */
export function apartDeg(one: Camera, other: Camera): number {
  const middle = { x: (WIDTH - 1) / 2, y: (HEIGHT - 1) / 2 };
  const [a, b] = [directionOf(one, middle)!, directionOf(other, middle)!];
  return (Math.acos(Math.min(1, a[0] * b[0] + a[1] * b[1] + a[2] * b[2])) * 180) / Math.PI;
}

/** Uniform over all turns, from a random quaternion. */
function anyRotation(random: Random): Rotation {
  const raw = [random.gaussian(), random.gaussian(), random.gaussian(), random.gaussian()];
  const size = Math.hypot(...raw);
  const [a, b, c, d] = raw.map((value) => value / size) as [number, number, number, number];
  return [
    1 - 2 * (c * c + d * d),
    2 * (b * c - a * d),
    2 * (b * d + a * c),
    2 * (b * c + a * d),
    1 - 2 * (b * b + d * d),
    2 * (c * d - a * b),
    2 * (b * d - a * c),
    2 * (c * d + a * b),
    1 - 2 * (b * b + c * c),
  ];
}

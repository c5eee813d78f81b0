import { brightStars } from '../../calibration/brightStars.js';
import { unitVector, type Vector } from '../../physics/projection.js';

/** The catalogue as directions (J2000), brightest first, three numbers a star. */
export interface SkyChart {
  readonly directions: Float64Array;
  readonly count: number;
}

let chart: SkyChart | undefined;

export function skyChart(): SkyChart {
  if (chart === undefined) {
    const stars = brightStars().sort((a, b) => a.magnitude - b.magnitude);
    const directions = new Float64Array(stars.length * 3);
    stars.forEach((star, n) => {
      directions.set(unitVector(star.rightAscensionDeg, star.declinationDeg), n * 3);
    });
    chart = { directions, count: stars.length };
  }
  return chart;
}

export function directionIn({ directions }: SkyChart, n: number): Vector {
  return [directions[n * 3]!, directions[n * 3 + 1]!, directions[n * 3 + 2]!];
}

/** Pairs of the brightest stars in order of the angle between them. */
export interface Pairs {
  readonly cosines: Float32Array;
  readonly first: Uint16Array;
  readonly second: Uint16Array;
}

/** Pairs among the `stars` brightest that are no further apart than `mostRad`; falling cosine. */
function pairsOf({ directions }: SkyChart, stars: number, mostRad: number): Pairs {
  const least = Math.cos(mostRad);
  const keys: number[] = [];
  const cosines: number[] = [];
  for (let a = 0; a < stars; a++)
    for (let b = a + 1; b < stars; b++) {
      const cosine =
        directions[a * 3]! * directions[b * 3]! +
        directions[a * 3 + 1]! * directions[b * 3 + 1]! +
        directions[a * 3 + 2]! * directions[b * 3 + 2]!;
      if (cosine < least) continue;
      keys.push(a * 65536 + b);
      cosines.push(cosine);
    }
  const order = Uint32Array.from(cosines.keys()).sort((p, q) => cosines[q]! - cosines[p]!);
  return {
    cosines: Float32Array.from(order, (n) => cosines[n]!),
    first: Uint16Array.from(order, (n) => Math.floor(keys[n]! / 65536)),
    second: Uint16Array.from(order, (n) => keys[n]! % 65536),
  };
}

/** Cells along the side of each face of a cube around the sky: 0.7 degrees at a face's middle. */
const SIDE = 128;

/** Index of the cube's cell that a direction passes. */
export function cellOf(x: number, y: number, z: number): number {
  const ax = Math.abs(x);
  const ay = Math.abs(y);
  const az = Math.abs(z);
  let face: number;
  let u: number;
  let v: number;
  if (ax >= ay && ax >= az) {
    face = x > 0 ? 0 : 1;
    u = y / ax;
    v = z / ax;
  } else if (ay >= az) {
    face = y > 0 ? 2 : 3;
    u = x / ay;
    v = z / ay;
  } else {
    face = z > 0 ? 4 : 5;
    u = x / az;
    v = y / az;
  }
  const column = Math.min(SIDE - 1, ((u + 1) * 0.5 * SIDE) | 0);
  const row = Math.min(SIDE - 1, ((v + 1) * 0.5 * SIDE) | 0);
  return (face * SIDE + row) * SIDE + column;
}

/** 1 in cells within `reachRad` of one of the `stars` brightest. */
function nearStars(sky: SkyChart, stars: number, reachRad: number): Uint8Array {
  const near = new Uint8Array(6 * SIDE * SIDE);
  const steps = Math.max(2, Math.ceil(reachRad / 0.006));
  for (let n = 0; n < stars; n++) {
    const [x, y, z] = directionIn(sky, n);
    // Two directions square to the star's.
    const turned: Vector = Math.abs(z) < 0.9 ? [-y, x, 0] : [0, -z, y];
    const size = Math.hypot(...turned);
    const p: Vector = [turned[0] / size, turned[1] / size, turned[2] / size];
    const q: Vector = [y * p[2] - z * p[1], z * p[0] - x * p[2], x * p[1] - y * p[0]];
    for (let i = -steps; i <= steps; i++)
      for (let j = -steps; j <= steps; j++) {
        if (i * i + j * j > steps * steps) continue;
        const a = (i / steps) * reachRad;
        const b = (j / steps) * reachRad;
        near[cellOf(x + a * p[0] + b * q[0], y + a * p[1] + b * q[1], z + a * p[2] + b * q[2])] = 1;
      }
  }
  return near;
}

/** Pairs further apart than this are not used, radians. */
const WIDEST_PAIR = 1.5;

/** Lists are made for few numbers of stars and kept: the next number up that is a power of `step`. */
function roundedUp(value: number, step: number): number {
  return Math.ceil(step ** Math.ceil(Math.log(value) / Math.log(step) - 1e-9));
}

const pairsKept = new Map<number, Pairs>();
export function pairsFor(sky: SkyChart, stars: number): Pairs {
  const rounded = Math.min(sky.count, roundedUp(stars, 1.5));
  const known = pairsKept.get(rounded) ?? pairsOf(sky, rounded, WIDEST_PAIR);
  pairsKept.set(rounded, known);
  return known;
}

const nearKept = new Map<string, Uint8Array>();
export function nearFor(sky: SkyChart, stars: number, reachRad: number): Uint8Array {
  const many = Math.min(sky.count, roundedUp(stars, 1.2));
  const reach = roundedUp(reachRad * 1e4, 1.2) / 1e4;
  const key = `${String(many)}/${String(reach)}`;
  const known = nearKept.get(key) ?? nearStars(sky, many, reach);
  nearKept.set(key, known);
  return known;
}

import { multiply, type Rotation, type Vector } from '../../physics/projection.js';
import { cellOf, type Pairs, type SkyChart } from './skyChart.js';

/** A lens held to the sky by two stars: how many of the brightest points it puts on bright catalogue stars. */
export interface Hypothesis {
  readonly score: number;
  /** Camera axes to equatorial axes. */
  readonly toSky: Rotation;
}

/** What is looked up for every hypothesis. */
export interface Lookup {
  readonly sky: SkyChart;
  readonly pairs: Pairs;
  /** 1 in cells near a catalogue star that should be among the points. */
  readonly near: Uint8Array;
  /** The n-th brightest point is looked for among so many brightest catalogue stars. */
  readonly depthOf: (n: number) => number;
  /** Counts down with every hypothesis. */
  readonly budget: { left: number };
}

/** Pairs nearer than this fix no direction, degrees. */
const NEAREST_DEG = 4;

/** Angles of a pair in frame and catalogue agree within this part (half a step of the focal length tried, and the lens' distortion). */
const ANGLE_PART = 0.022;

const PAIR_POINTS = 11;
const KEPT = 6;

/**
 * Tries every pair of the brightest points on every pair of catalogue stars as far apart, either way round, and keeps the best. Stops when
 * `good` is reached.
 */
export function bestHypotheses(rays: readonly Vector[], lookup: Lookup, good: number): Hypothesis[] {
  const kept: Hypothesis[] = [];
  const points = rays.length;
  // Coordinates of all rays in the axes of the pair in hand.
  const own = new Float64Array(points * 3);
  for (let sum = 1; sum <= 2 * PAIR_POINTS; sum++)
    for (let i = Math.max(0, sum - PAIR_POINTS); i < sum - i && i < points; i++) {
      const j = sum - i;
      if (j >= points || j > PAIR_POINTS) continue;
      const cosine = dot(rays[i]!, rays[j]!);
      const angle = Math.acos(Math.min(1, cosine));
      if (angle < (NEAREST_DEG * Math.PI) / 180 || angle > 1.5) continue;
      const axes = axesOf(rays[i]!, rays[j]!);
      for (let n = 0; n < points; n++)
        for (let c = 0; c < 3; c++)
          own[n * 3 + c] = axes[c * 3]! * rays[n]![0] + axes[c * 3 + 1]! * rays[n]![1] + axes[c * 3 + 2]! * rays[n]![2];
      const best = tryPair(own, axes, points, i, j, angle, lookup, kept);
      if (best >= good) return kept;
    }
  return kept;
}

function tryPair(
  own: Float64Array,
  axes: Rotation,
  points: number,
  i: number,
  j: number,
  angle: number,
  { sky, pairs, near, depthOf, budget }: Lookup,
  kept: Hypothesis[],
): number {
  const spread = Math.max(0.006, ANGLE_PART * angle);
  const from = firstAtMost(pairs.cosines, Math.cos(Math.max(0, angle - spread)));
  const least = Math.cos(angle + spread);
  const { directions } = sky;
  const depthI = depthOf(i);
  const depthJ = depthOf(j);
  let best = 0;
  for (let n = from; n < pairs.cosines.length && pairs.cosines[n]! >= least; n++) {
    const p = pairs.first[n]!;
    const q = pairs.second[n]!;
    for (let way = 0; way < 2; way++) {
      const a = way === 0 ? p : q;
      const b = way === 0 ? q : p;
      if (a >= depthI || b >= depthJ) continue;
      const ax = directions[a * 3]!;
      const ay = directions[a * 3 + 1]!;
      const az = directions[a * 3 + 2]!;
      const bx = directions[b * 3]!;
      const by = directions[b * 3 + 1]!;
      const bz = directions[b * 3 + 2]!;
      // The same axes as axesOf, of the catalogue's pair.
      let mx = ax + bx;
      let my = ay + by;
      let mz = az + bz;
      let size = 1 / Math.sqrt(mx * mx + my * my + mz * mz);
      mx *= size;
      my *= size;
      mz *= size;
      let nx = ay * bz - az * by;
      let ny = az * bx - ax * bz;
      let nz = ax * by - ay * bx;
      size = 1 / Math.sqrt(nx * nx + ny * ny + nz * nz);
      nx *= size;
      ny *= size;
      nz *= size;
      const ox = my * nz - mz * ny;
      const oy = mz * nx - mx * nz;
      const oz = mx * ny - my * nx;
      let score = 0;
      budget.left--;
      for (let k = 0; k < points; k++) {
        const u = own[k * 3]!;
        const v = own[k * 3 + 1]!;
        const w = own[k * 3 + 2]!;
        score += near[cellOf(u * mx + v * nx + w * ox, u * my + v * ny + w * oy, u * mz + v * nz + w * oz)]!;
        // Two of the first points lie on stars by making; without others there is nothing in it.
        if (k === 7 && score < 4) break;
      }
      if (score > best) best = score;
      const last = kept.at(-1);
      if (score < 5 || (kept.length >= KEPT && last !== undefined && score <= last.score)) continue;
      kept.push({ score, toSky: multiply([mx, nx, ox, my, ny, oy, mz, nz, oz], axes) });
      kept.sort((one, other) => other.score - one.score);
      if (kept.length > KEPT) kept.pop();
    }
  }
  return best;
}

/** Axes of a pair as rows: its middle, the pole of its great circle, and the third. */
function axesOf(a: Vector, b: Vector): Rotation {
  const m = unit([a[0] + b[0], a[1] + b[1], a[2] + b[2]]);
  const n = unit(cross(a, b));
  const o = cross(m, n);
  return [...m, ...n, ...o];
}

function firstAtMost(falling: Float32Array, value: number): number {
  let low = 0;
  let high = falling.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (falling[middle]! > value) low = middle + 1;
    else high = middle;
  }
  return low;
}

function dot(a: Vector, b: Vector): number {
  return a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
}

function cross(a: Vector, b: Vector): Vector {
  return [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];
}

function unit(v: Vector): Vector {
  const size = Math.hypot(...v) || 1;
  return [v[0] / size, v[1] / size, v[2] / size];
}

import { solveSystem } from '../../math/leastSquares.js';
import { median } from '../../math/statistics.js';
import { spotOf, type Camera } from '../../physics/camera.js';
import { multiply, turnAbout, type Rotation } from '../../physics/projection.js';
import { directionIn, type SkyChart } from './skyChart.js';
import type { StarPoint } from './starPoints.js';

/** A catalogue star and the point that it is. */
export interface Match {
  readonly star: number;
  readonly point: number;
  readonly offPx: number;
}

/** Of the `stars` brightest, those whose spot is the nearest of a point that is their nearest, within `reachPx`. */
export function matchesOf(
  camera: Camera,
  sky: SkyChart,
  stars: number,
  points: readonly StarPoint[],
  reachPx: number,
): Match[] {
  const best = new Map<number, Match>();
  for (let star = 0; star < stars; star++) {
    const spot = spotOf(camera, directionIn(sky, star));
    if (spot === null || spot.x < -reachPx || spot.y < -reachPx) continue;
    if (spot.x > camera.widthPx + reachPx || spot.y > camera.heightPx + reachPx) continue;
    let nearest = -1;
    let least = reachPx * reachPx;
    for (let n = 0; n < points.length; n++) {
      const dx = points[n]!.x - spot.x;
      const dy = points[n]!.y - spot.y;
      const off = dx * dx + dy * dy;
      if (off < least) {
        least = off;
        nearest = n;
      }
    }
    if (nearest < 0) continue;
    const offPx = Math.sqrt(least);
    const other = best.get(nearest);
    if (other === undefined || other.offPx > offPx) best.set(nearest, { star, point: nearest, offPx });
  }
  return [...best.values()];
}

/** What a fit may change beside the camera's turn: focal length, then distortion and where the axis meets the frame. */
export const FREEDOMS = ['turn', 'scale', 'bend', 'axis', 'bend-twice'] as const;
export type Freedom = (typeof FREEDOMS)[number];

const UNKNOWNS: Readonly<Record<Freedom, number>> = { turn: 3, scale: 4, bend: 5, axis: 7, 'bend-twice': 8 };

/** Gauss-Newton on the distances of matched stars, far ones held back (Huber, twice the median).
 * `slack`: how far the axis may be off, part of the width. Null when the system cannot be solved. */
export function fitted(
  camera: Camera,
  sky: SkyChart,
  points: readonly StarPoint[],
  matches: readonly Match[],
  freedom: Freedom,
  slack: number,
): Camera | null {
  const unknowns = UNKNOWNS[freedom];
  if (matches.length * 2 < unknowns + 4) return null;
  let now = camera;
  const home = { x: camera.axis.x / camera.widthPx, y: camera.axis.y / camera.widthPx };
  for (let round = 0; round < 4; round++) {
    const rows: { weight: number; off: [number, number]; slopes: [number[], number[]] }[] = [];
    const steps = Array.from({ length: unknowns }, (_, k) => moved(now, unit(k)));
    const offs = matches.map(({ star, point }) => {
      const spot = spotOf(now, directionIn(sky, star));
      return spot === null
        ? Number.POSITIVE_INFINITY
        : Math.hypot(points[point]!.x - spot.x, points[point]!.y - spot.y);
    });
    const held = 2 * Math.max(0.3, median(offs));
    matches.forEach(({ star, point }, n) => {
      const direction = directionIn(sky, star);
      const spot = spotOf(now, direction);
      if (spot === null) return;
      const slopes: [number[], number[]] = [[], []];
      for (const step of steps) {
        const there = spotOf(step, direction) ?? spot;
        slopes[0].push((there.x - spot.x) / STEP);
        slopes[1].push((there.y - spot.y) / STEP);
      }
      rows.push({
        weight: Math.min(1, held / Math.max(1e-9, offs[n]!)),
        off: [points[point]!.x - spot.x, points[point]!.y - spot.y],
        slopes,
      });
    });
    const gram = new Float64Array(unknowns * unknowns);
    const right = new Float64Array(unknowns);
    for (const { weight, off, slopes } of rows)
      for (let c = 0; c < 2; c++)
        for (let a = 0; a < unknowns; a++) {
          right[a]! += weight * slopes[c]![a]! * off[c]!;
          for (let b = 0; b < unknowns; b++) gram[a * unknowns + b]! += weight * slopes[c]![a]! * slopes[c]![b]!;
        }
    // Of bend and axis it is known that they are small: a weak pull back, as one star that is a fiftieth of the frame off would give.
    const pull = (camera.widthPx * 0.02) ** 2;
    const away = [
      0,
      0,
      0,
      0,
      now.distortion[0],
      now.axis.x / now.widthPx - home.x,
      now.axis.y / now.widthPx - home.y,
      now.distortion[1],
    ];
    for (let a = 4; a < unknowns; a++) {
      const weight = a === 5 || a === 6 ? pull / slack ** 2 : pull;
      gram[a * unknowns + a]! += weight;
      right[a]! -= weight * away[a]!;
    }
    const answer = solveSystem(gram, right);
    if (answer === null) return null;
    const next = moved(now, answer);
    if (Math.abs(next.distortion[0]) > 0.35 || Math.abs(next.distortion[1]) > 0.25) return null;
    if (!(Math.abs(Math.log(next.focalPx / camera.focalPx)) < 0.25)) return null;
    now = next;
  }
  return now;
}

const STEP = 1e-4;

function unit(k: number): number[] {
  return Array.from({ length: 8 }, (_, n) => (n === k ? STEP : 0));
}

/** The camera with small turns about its axes (radians), its focal length and its bend changed. */
function moved(camera: Camera, by: readonly number[]): Camera {
  const [a = 0, b = 0, c = 0, scale = 0, k1 = 0, x = 0, y = 0, k2 = 0] = by;
  return {
    ...camera,
    toCamera: turned(camera.toCamera, a, b, c),
    focalPx: camera.focalPx * Math.exp(scale),
    distortion: [camera.distortion[0] + k1, camera.distortion[1] + k2],
    axis: { x: camera.axis.x + x * camera.widthPx, y: camera.axis.y + y * camera.widthPx },
  };
}

/** A further turn about the camera's axes, radians. */
function turned(m: Rotation, a: number, b: number, c: number): Rotation {
  const angle = Math.hypot(a, b, c);
  return angle < 1e-15 ? m : multiply(turnAbout([a / angle, b / angle, c / angle], angle), m);
}

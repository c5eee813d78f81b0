import { median } from '../../math/statistics.js';
import { rayOf, spotOf, type Camera, type Spot } from '../../physics/camera.js';
import { PROJECTIONS } from '../../physics/lens.js';
import { inverse } from '../../physics/projection.js';
import { fitted, FREEDOMS, matchesOf, type Freedom } from './fit.js';
import { bestHypotheses } from './hypotheses.js';
import { cutAway, lensesToTry, MIDDLE, skyOf, slackOf, type View } from './lensesToTry.js';
import { directionIn, nearFor, pairsFor, skyChart, type SkyChart } from './skyChart.js';
import type { StarPoint } from './starPoints.js';

export interface Solution {
  readonly camera: Camera;
  /** Median distance of matched stars from where they should be. */
  readonly residualPx: number;
  readonly matched: number;
  /** Catalogue stars as bright that should be seen in this sky. */
  readonly expected: number;
  /** -log10 of the probability that as many match by chance. */
  readonly evidence: number;
}

/** Where the search ends, a few seconds of work: a sky that is in the catalogue is found long before. */
const MOST_HYPOTHESES = 1.2e7;

const BRIGHTEST = 22;
const LEAST_POINTS = 7;

/** Chance agreement less likely than this (1 to 10^n) is taken for an answer; millions of hypotheses are tried for each frame. */
const EVIDENCE = 11;

/**
 * Where the camera looks: the attitude, focal length, projection and bend that put catalogue stars on the points. Null: not enough stars.
 * Which points are the brightest stars is not sure in a file whose bright end is bent: they are taken by contrast, then by flux.
 */
export function solvePointing(points: readonly StarPoint[], view: View): Solution | null {
  const budget = { left: MOST_HYPOTHESES };
  const byFlux = [...points].sort((a, b) => b.flux - a.flux);
  const cropped = cutAway(view);
  return (
    searched(points, view, [MIDDLE], budget) ??
    searched(byFlux, view, [MIDDLE], budget) ??
    (cropped.length > 0 ? searched(points, view, cropped, budget) : null)
  );
}

function searched(
  points: readonly StarPoint[],
  view: View,
  asides: readonly Spot[],
  budget: { left: number },
): Solution | null {
  const bright = apart(points, view).slice(0, BRIGHTEST);
  if (bright.length < LEAST_POINTS) return null;
  const sky = skyChart();
  let tried: Solution | null = null;
  for (const { projection, focalPx, axis } of lensesToTry(view, asides)) {
    if (budget.left <= 0) break;
    const lens = {
      projection,
      focalPx,
      axis,
      distortion: [0, 0] as const,
      widthPx: view.widthPx,
      heightPx: view.heightPx,
    };
    const rays = bright.map((point) => rayOf(lens, point)).filter((ray) => ray !== null);
    if (rays.length < 0.8 * bright.length) continue;
    const steradians = skyOf(view, lens);
    if (steradians < 0.02) continue;
    // So many catalogue stars of the whole sky as make the points of this part of it, and some more for those that were missed.
    const whole = (4 * Math.PI) / steradians;
    const depth = (count: number): number => Math.min(sky.count, Math.ceil(count * whole));
    const stars = Math.min(1700, depth(1.5 * bright.length));
    const reach = Math.min(0.026, Math.max(0.009, 0.02 * Math.sqrt(steradians)));
    const found = bestHypotheses(
      rays,
      {
        sky,
        pairs: pairsFor(sky, Math.min(stars, depth(2 * 14))),
        near: nearFor(sky, stars, reach),
        depthOf: (n) => depth(2 * (n + 3)),
        budget,
      },
      Math.ceil(0.7 * rays.length),
    );
    for (const { toSky } of found) {
      const solution = settle({ ...lens, toCamera: inverse(toSky) }, sky, points, view, depth);
      if (solution === null) continue;
      if (solution.evidence < EVIDENCE) continue;
      const better = betterLens(solution, sky, points, view, depth);
      if (isFull(better)) return better;
      if (better.evidence > (tried?.evidence ?? EVIDENCE)) tried = better;
    }
  }
  return tried;
}

/** Most of what should be seen is matched: no other lens can do better. */
function isFull({ matched, expected, evidence }: Solution): boolean {
  return evidence > 30 && matched > 0.5 * expected;
}

/** Points with a brighter one close by are parts of it. */
function apart(points: readonly StarPoint[], { widthPx, heightPx }: View): StarPoint[] {
  const near = 0.012 * Math.hypot(widthPx, heightPx);
  const kept: StarPoint[] = [];
  for (const point of points) {
    if (kept.length >= 3 * BRIGHTEST) break;
    if (!kept.some((other) => Math.hypot(other.x - point.x, other.y - point.y) < near)) kept.push(point);
  }
  return kept;
}

/** Fits in turn: the brightest first, the lens stiff at first. */
const STAGES: readonly { readonly points: number; readonly freedom: Freedom }[] = [
  { points: 22, freedom: 'turn' },
  { points: 22, freedom: 'scale' },
  { points: 22, freedom: 'scale' },
  { points: 30, freedom: 'bend' },
  { points: 40, freedom: 'bend' },
  { points: 60, freedom: 'axis' },
  { points: 80, freedom: 'bend-twice' },
  { points: 120, freedom: 'bend-twice' },
  { points: 120, freedom: 'bend-twice' },
  { points: 120, freedom: 'bend-twice' },
];
/** Catalogue stars looked at for each point: some points are missed, some stars are fainter than they look. */
const MORE_STARS = 1.3;

/** Matches and fits in turn, nearer and nearer, with more of the points; then weighs the agreement against chance. */
function settle(
  start: Camera,
  sky: SkyChart,
  points: readonly StarPoint[],
  view: View,
  depth: (count: number) => number,
): Solution | null {
  let camera = start;
  let spread = Number.POSITIVE_INFINITY;
  let reach = 0;
  let used = 0;
  const least = Math.max(2, 0.0009 * Math.hypot(view.widthPx, view.heightPx));
  for (const [stage, { points: most, freedom }] of STAGES.entries()) {
    used = Math.min(points.length, most);
    const some = points.slice(0, used);
    // Half the way to the next star at most: further off, matches would be chance.
    const spacing = camera.focalPx * Math.sqrt((4 * Math.PI) / depth(MORE_STARS * used));
    reach = Math.max(least, Math.min(stage === 0 ? 0.06 * camera.focalPx : 4 * spread, 0.35 * spacing));
    const matches = matchesOf(camera, sky, depth(MORE_STARS * used), some, reach);
    if (matches.length < 6) return null;
    const allowed = matches.length < 9 ? 'scale' : matches.length < 20 ? 'bend' : freedom;
    const next = fitted(
      camera,
      sky,
      some,
      matches,
      FREEDOMS.indexOf(allowed) < FREEDOMS.indexOf(freedom) ? allowed : freedom,
      slackOf(view),
    );
    if (next === null) return null;
    camera = next;
    spread = median(matches.map(({ offPx }) => offPx));
  }
  return weighed(camera, sky, points.slice(0, used), view, reach, depth);
}

function weighed(
  camera: Camera,
  sky: SkyChart,
  points: readonly StarPoint[],
  view: View,
  reach: number,
  depth: (count: number) => number,
): Solution {
  const stars = depth(MORE_STARS * points.length);
  const matches = matchesOf(camera, sky, stars, points, reach);
  let expected = 0;
  let inside = 0;
  for (let star = 0; star < stars; star++) {
    const spot = spotOf(camera, directionIn(sky, star));
    if (spot !== null && view.isSky(spot.x, spot.y)) expected++;
  }
  const step = Math.max(1, Math.round(view.widthPx / 80));
  for (let y = 0; y < view.heightPx; y += step)
    for (let x = 0; x < view.widthPx; x += step) if (view.isSky(x, y)) inside++;
  const area = Math.max(1, inside * step * step);
  const chance = Math.min(0.9, (points.length * Math.PI * reach * reach) / area);
  const evidence = matches.length < 7 ? 0 : binomialTail(Math.max(expected, matches.length), matches.length, chance);
  return {
    camera,
    residualPx: matches.length === 0 ? reach : median(matches.map(({ offPx }) => offPx)),
    matched: matches.length,
    expected,
    evidence,
  };
}

/** -log10 P(X >= hits), X binomial; by the largest term and the ratio of what follows (enough for orders of size). */
function binomialTail(trials: number, hits: number, chance: number): number {
  if (hits <= trials * chance) return 0;
  let log = 0;
  for (let n = 0; n < hits; n++) log += Math.log((trials - n) / (hits - n));
  log += hits * Math.log(chance) + (trials - hits) * Math.log(1 - chance);
  const ratio = ((trials - hits) / (hits + 1)) * (chance / (1 - chance));
  return -(log - Math.log(Math.max(0.05, 1 - ratio))) / Math.LN10;
}

/** The same attitude through the other projections: the lens is the one that needs the least bending and leaves the least. */
function betterLens(
  solution: Solution,
  sky: SkyChart,
  points: readonly StarPoint[],
  view: View,
  depth: (count: number) => number,
): Solution {
  const candidates = [solution];
  for (const projection of PROJECTIONS)
    for (const scale of projection === solution.camera.projection ? [] : [1, 0.94, 1.06]) {
      const camera = {
        ...solution.camera,
        projection,
        focalPx: solution.camera.focalPx * scale,
        distortion: [0, 0] as const,
      };
      const other = settle(camera, sky, points, view, depth);
      if (other !== null) candidates.push(other);
    }
  const most = Math.max(...candidates.map(({ evidence }) => evidence));
  const bend = ({ camera }: Solution): number => Math.abs(camera.distortion[0]) + Math.abs(camera.distortion[1]);
  const cost = (own: Solution): number => Math.log(own.residualPx) + 3 * bend(own);
  return candidates
    .filter(({ evidence }) => evidence >= 0.9 * most)
    .reduce((best, own) => (cost(own) < cost(best) ? own : best));
}

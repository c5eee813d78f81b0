import { median } from '../../math/statistics.js';
import { rayOf, spotOf, type Camera, type Spot } from '../../physics/camera.js';
import { angleAt, PROJECTIONS, radialScale } from '../../physics/lens.js';
import type { Rotation } from '../../physics/projection.js';
import { fitted, FREEDOMS, matchesOf, type Freedom } from './fit.js';
import { bestHypotheses } from './hypotheses.js';
import { directionIn, nearStars, pairsOf, skyChart, type Pairs, type SkyChart } from './skyChart.js';
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

/** What is known of the frame beside its points. */
export interface View {
  readonly widthPx: number;
  readonly heightPx: number;
  /** From the metadata; null: searched. */
  readonly focalPx: number | null;
  /** Whether a pixel sees the sky. */
  isSky(x: number, y: number): boolean;
}

/** Where the search ends, a few seconds of work: a sky that is in the catalogue is found long before. */
const MOST_HYPOTHESES = 1.2e7;

/** Pairs further apart than this are not used, radians. */
const WIDEST_PAIR = 1.5;

const BRIGHTEST = 22;
const LEAST_POINTS = 7;

/** Chance agreement less likely than this (1 to 10^n) is taken for an answer; millions of hypotheses are tried for each frame. */
const EVIDENCE = 11;

/** Step between focal lengths tried; within the slack of pair angles. */
const FOCAL_STEP = 0.035;

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
      const solution = settle({ ...lens, toCamera: transposed(toSky) }, sky, points, view, depth);
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

/** Focal lengths from the likeliest outwards; fisheye projections for the short ones. */
function* lensesToTry(view: View, asides: readonly Spot[]): Generator<Pick<Camera, 'projection' | 'focalPx' | 'axis'>> {
  const { focalPx, widthPx, heightPx } = view;
  const long = Math.max(widthPx, heightPx);
  const middle = focalPx ?? 0.47 * long;
  const ways = focalPx === null ? Math.ceil(Math.log(3.4) / FOCAL_STEP) : Math.ceil(0.12 / FOCAL_STEP);
  const steps = Array.from({ length: 2 * ways + 1 }, (_, n) => (n % 2 === 0 ? n / 2 : -(n + 1) / 2));
  // An equisolid guess finds the other fisheyes as well, most times; the lens is weighed again afterwards.
  for (const projections of [['rectilinear', 'equisolid'] as const, ['equidistant', 'stereographic'] as const])
    for (const step of steps)
      for (const projection of projections) {
        const tried = middle * Math.exp(step * FOCAL_STEP);
        if (projection !== 'rectilinear' && tried > 0.62 * long) continue;
        if (tried < 0.13 * long || tried > 1.7 * long) continue;
        for (const aside of asides)
          yield {
            projection,
            focalPx: tried,
            axis: { x: (widthPx - 1) / 2 + aside.x, y: (heightPx - 1) / 2 + aside.y },
          };
      }
}

/** Frames are 3:2, 4:3 or squarer: a longer one was cropped, and its middle need not be the lens'. */
const LONGEST = 1.55;

/** How far the lens' axis may be from the middle of the frame, part of the width: some pixels, or what a crop can have cut away. */
function slackOf({ widthPx, heightPx }: View): number {
  return Math.max(widthPx, heightPx) > LONGEST * Math.min(widthPx, heightPx) ? 0.05 : 0.004;
}

const MIDDLE: Spot = { x: 0, y: 0 };

/** Other places of the axis that are tried in a cropped frame, pixels from its middle. */
function cutAway(view: View): readonly Spot[] {
  if (slackOf(view) < 0.01) return [];
  const { widthPx, heightPx } = view;
  const long = Math.max(widthPx, heightPx);
  const lost = Math.min(0.12 * long, long / 1.5 - Math.min(widthPx, heightPx)) / 3;
  const [x, y] = widthPx > heightPx ? [0, lost] : [lost, 0];
  return [
    { x, y },
    { x: -x, y: -y },
  ];
}

/** Solid angle of the sky in the frame: each pixel of a radial projection sees sin(theta) / (r dr/dtheta). */
function skyOf(view: View, lens: Omit<Camera, 'toCamera'>): number {
  const step = Math.max(1, Math.round(Math.max(view.widthPx, view.heightPx) / 60));
  let sum = 0;
  for (let y = step / 2; y < view.heightPx; y += step)
    for (let x = step / 2; x < view.widthPx; x += step) {
      if (!view.isSky(x, y)) continue;
      const radius = Math.hypot(x - lens.axis.x, y - lens.axis.y) / lens.focalPx;
      const theta = angleAt(lens.projection, radius);
      if (theta === null) continue;
      const scale = radialScale(lens.projection, theta);
      const pixel = radius < 1e-6 ? 1 : Math.sin(theta) / (radius * scale);
      sum += pixel * (step / lens.focalPx) ** 2;
    }
  return sum;
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
): Solution | null {
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

function transposed(m: Rotation): Rotation {
  return [m[0], m[3], m[6], m[1], m[4], m[7], m[2], m[5], m[8]];
}

/** Lists are made for few numbers of stars and kept: the next number up that is a power of `step`. */
function roundedUp(value: number, step: number): number {
  return Math.ceil(step ** Math.ceil(Math.log(value) / Math.log(step) - 1e-9));
}

const pairsKept = new Map<number, Pairs>();
function pairsFor(sky: SkyChart, stars: number): Pairs {
  const rounded = Math.min(sky.count, roundedUp(stars, 1.5));
  const known = pairsKept.get(rounded) ?? pairsOf(sky, rounded, WIDEST_PAIR);
  pairsKept.set(rounded, known);
  return known;
}

const nearKept = new Map<string, Uint8Array>();
function nearFor(sky: SkyChart, stars: number, reachRad: number): Uint8Array {
  const many = Math.min(sky.count, roundedUp(stars, 1.2));
  const reach = roundedUp(reachRad * 1e4, 1.2) / 1e4;
  const key = `${String(many)}/${String(reach)}`;
  const known = nearKept.get(key) ?? nearStars(sky, many, reach);
  nearKept.set(key, known);
  return known;
}

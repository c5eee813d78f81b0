import { median } from '../../math/statistics.js';
import type { StarCause } from '../../model/reading.js';
import { axesOverHemisphere, rotationTrail, spinOf, type Axis, type Spin } from '../../physics/starField.js';
import { SIDEREAL_RATE_ARCSEC_PER_S, trailFromMoments } from '../../physics/trailing.js';
import type { StarShape } from './shape.js';

/** Geometry of the frame; focal length in pixels is a guess when the lens is not known. */
export interface FieldGeometry {
  readonly centreX: number;
  readonly centreY: number;
  readonly halfDiagonal: number;
  readonly focalPx: number | null;
  readonly shutterSeconds: number | null;
}

export interface CauseFinding {
  readonly cause: StarCause;
  /** The sky's rotation axis in camera axes when trailing was recognised. */
  readonly axis: Axis | null;
}

/** Fewer good stars than this say nothing about a cause. */
export const LEAST_STARS = 8;

/** Out of focus: stars at least this wide (lens blur of a focused wide lens is 1.5 to 4 pixels; common practice, no source). */
const DEFOCUS_FWHM_PX = 5.2;

/** Shorter than this nobody sees a trail, and grain alone measures as much. */
export const ROUND_TRAIL_PX = 1.5;

interface Point {
  readonly x: number;
  readonly y: number;
  readonly spin: Spin;
  readonly trail: number;
}

/** Weighs the models of a star field against each other: round, rotation of the sky, shake, coma, defocus, mixtures. */
export function findCause(shapes: readonly StarShape[], geometry: FieldGeometry): CauseFinding {
  if (shapes.length < LEAST_STARS) return { cause: 'too-few', axis: null };
  const points = shapes.map((shape) => pointOf(shape, geometry));
  const trail = median(points.map((point) => point.trail));
  const width = 2.3548 * median(shapes.map((shape) => shape.b));
  const ratio = median(shapes.map((shape) => shape.a / shape.b));
  const hollow = shapes.filter((shape) => shape.hollow).length / shapes.length;
  const wide = width > DEFOCUS_FWHM_PX || (hollow > 0.5 && width > 0.8 * DEFOCUS_FWHM_PX);
  if (wide && ratio < 1.35) return { cause: 'defocus', axis: null };
  const coma = comaFit(points, geometry);
  if (trail < ROUND_TRAIL_PX && !(coma.outer > 2.2 && coma.radial > 0.6)) return { cause: 'round', axis: null };
  const rotation = bestRotation(points, geometry);
  const constant = constantMisfit(points);
  if (wide) return { cause: ratio > 1.6 ? 'mixed' : 'defocus', axis: rotation.axis };
  if (coma.misfit < 0.8 * Math.min(rotation.misfit, constant) && coma.radial > 0.5)
    return { cause: 'coma', axis: null };
  const both = rotation.misfit < WELL_EXPLAINED ? null : comaBeside(points, geometry, rotation.axis);
  if (
    both !== null &&
    both.misfit < TOGETHER * Math.min(rotation.misfit, constant) &&
    both.cornerPx > 2 * ROUND_TRAIL_PX
  )
    return { cause: both.cornerPx > 2 * both.trailPx ? 'coma' : 'mixed', axis: both.axis };
  const turned = (): CauseFinding =>
    common(points, geometry, rotation.axis) < ROUND_TRAIL_PX
      ? { cause: 'round', axis: null }
      : { cause: 'trailing', axis: rotation.axis };
  if (rotation.misfit < 0.45 && rotation.misfit <= constant * 1.1) return turned();
  if (constant < 0.45) return { cause: 'shake', axis: null };
  if (rotation.misfit < 0.6 && rotation.misfit < constant) return turned();
  return { cause: ratio < 1.25 ? 'round' : 'mixed', axis: null };
}

function pointOf(shape: StarShape, geometry: FieldGeometry): Point {
  return {
    x: shape.x - geometry.centreX,
    y: shape.y - geometry.centreY,
    spin: { p: 12 * (shape.xx - shape.yy), q: 24 * shape.xy },
    trail: trailFromMoments(shape.a, shape.b),
  };
}

/** Distance between a measured and a foretold shape, in parts of the larger; 1.5 px^2 is the measuring error. */
function misfit(measured: Spin, foretold: Spin): number {
  const apart = Math.hypot(measured.p - foretold.p, measured.q - foretold.q);
  const size = Math.max(Math.hypot(measured.p, measured.q), Math.hypot(foretold.p, foretold.q));
  return apart / (size + 1.5);
}

function medianMisfit(points: readonly Point[], foretell: (point: Point) => Spin): number {
  return median(points.map((point) => misfit(point.spin, foretell(point))));
}

/** The rotation axis that explains the field best; its size is the sidereal rate times the shutter when both are known. */
function bestRotation(points: readonly Point[], geometry: FieldGeometry): { misfit: number; axis: Axis } {
  const focal = geometry.focalPx ?? geometry.halfDiagonal * 0.75;
  const known = geometry.focalPx !== null && geometry.shutterSeconds !== null;
  const some = thinned(points);
  const full = turnIn(geometry.shutterSeconds ?? 1);
  const score = (axis: Axis): number => {
    const trails = some.map((point) => rotationTrail(point.x, point.y, focal, axis, 1));
    const angle = known
      ? full
      : median(some.map((point, n) => point.trail / Math.max(1e-9, Math.hypot(trails[n]!.dx, trails[n]!.dy))));
    return median(some.map((point, n) => misfit(point.spin, spinOf(trails[n]!.dx * angle, trails[n]!.dy * angle))));
  };
  let best: { misfit: number; axis: Axis } = { misfit: Number.POSITIVE_INFINITY, axis: [0, 0, 1] };
  const consider = (axis: Axis): void => {
    const value = score(axis);
    if (value < best.misfit) best = { misfit: value, axis };
  };
  for (const axis of axesOverHemisphere(240)) consider(axis);
  for (const step of [0.08, 0.03]) {
    const [x, y, z] = best.axis;
    for (const [i, j] of [
      [1, 0],
      [-1, 0],
      [0, 1],
      [0, -1],
      [1, 1],
      [-1, -1],
      [1, -1],
      [-1, 1],
    ] as const)
      consider(unit(x + i * step, y + j * step, z + (i - j) * 0.5 * step));
  }
  return best;
}

/**
 * Trail that all stars have in common along what rotation foretells, pixels, at the typical star: at most what rotation can draw. Grain
 * draws each star out by a little in its own direction, which the middle of the lengths adds up and this does not. Infinite where
 * rotation's size is not known.
 */
function common(points: readonly Point[], { focalPx, shutterSeconds }: FieldGeometry, axis: Axis): number {
  if (focalPx === null || shutterSeconds === null) return Number.POSITIVE_INFINITY;
  const foretold = points.map(({ x, y }) => rotationTrail(x, y, focalPx, axis, turnIn(shutterSeconds)));
  const shares = points.map(({ spin }, n) => {
    const own = spinOf(foretold[n]!.dx, foretold[n]!.dy);
    return (spin.p * own.p + spin.q * own.q) / (own.p ** 2 + own.q ** 2);
  });
  // Spins go with the square of the length.
  return median(foretold.map(({ dx, dy }) => Math.hypot(dx, dy))) * Math.sqrt(Math.min(1, Math.max(0, median(shares))));
}

/** So many points are enough to weigh an axis by. */
const ENOUGH_POINTS = 100;

function thinned(points: readonly Point[]): readonly Point[] {
  return points.filter((_, n) => n % Math.ceil(points.length / ENOUGH_POINTS) === 0);
}

/** What the sky turns by in a time, radians. */
function turnIn(seconds: number): number {
  return ((SIDEREAL_RATE_ARCSEC_PER_S * seconds) / 3600) * (Math.PI / 180);
}

function unit(x: number, y: number, z: number): Axis {
  const length = Math.hypot(x, y, z) || 1;
  return [x / length, y / length, z / length];
}

/** Rotation that misses less than this needs no second cause. */
const WELL_EXPLAINED = 0.15;

/** Rotation with coma must explain the field so much better than either alone. */
const TOGETHER = 0.75;

interface ComaBeside {
  readonly misfit: number;
  readonly axis: Axis;
  /** Length that coma draws a star out to at the corner, and that rotation draws at the typical star, pixels. */
  readonly cornerPx: number;
  readonly trailPx: number;
}

/**
 * Rotation and coma together: second moments of independent blurs add, so that what rotation leaves is coma, along the radius and growing as
 * its fourth power (the square of a length that grows as the square). Null where rotation's size is not known.
 */
function comaBeside(points: readonly Point[], geometry: FieldGeometry, start: Axis): ComaBeside | null {
  const { focalPx, shutterSeconds, halfDiagonal } = geometry;
  if (focalPx === null || shutterSeconds === null) return null;
  const some = thinned(points);
  const angle = turnIn(shutterSeconds);
  const shapes = some.map(({ x, y }) => {
    const r = Math.hypot(x, y) || 1;
    const growth = (r / halfDiagonal) ** 2;
    return { radius: r / halfDiagonal, unitComa: spinOf((growth * x) / r, (growth * y) / r) };
  });
  const tryAxis = (axis: Axis): ComaBeside => {
    const trails = some.map((point) => rotationTrail(point.x, point.y, focalPx, axis, 1));
    const turned = trails.map(({ dx, dy }) => spinOf(dx * angle, dy * angle));
    const sizes = some.flatMap((point, n) => {
      const { radius, unitComa } = shapes[n]!;
      if (radius < 0.5) return [];
      const left = { p: point.spin.p - turned[n]!.p, q: point.spin.q - turned[n]!.q };
      return [(left.p * unitComa.p + left.q * unitComa.q) / (unitComa.p ** 2 + unitComa.q ** 2)];
    });
    const size = sizes.length < 5 ? 0 : Math.max(0, median(sizes));
    const value = median(
      some.map((point, n) =>
        misfit(point.spin, {
          p: turned[n]!.p + size * shapes[n]!.unitComa.p,
          q: turned[n]!.q + size * shapes[n]!.unitComa.q,
        }),
      ),
    );
    const trailPx = median(trails.map(({ dx, dy }) => Math.hypot(dx, dy) * angle));
    return { misfit: value, axis, cornerPx: Math.sqrt(size), trailPx };
  };
  return [start, ...axesOverHemisphere(240)]
    .map(tryAxis)
    .reduce((best, one) => (one.misfit < best.misfit ? one : best));
}

/** Shake draws the same figure everywhere. */
function constantMisfit(points: readonly Point[]): number {
  const mean = { p: median(points.map((point) => point.spin.p)), q: median(points.map((point) => point.spin.q)) };
  return medianMisfit(points, () => mean);
}

/** Coma: along the radius, growing as the square of the distance from the centre. */
function comaFit(points: readonly Point[], geometry: FieldGeometry): { misfit: number; radial: number; outer: number } {
  const radius = (point: Point): number => Math.hypot(point.x, point.y) / geometry.halfDiagonal;
  const outer = points.filter((point) => radius(point) > 0.55);
  if (outer.length < 5) return { misfit: Number.POSITIVE_INFINITY, radial: 0, outer: 0 };
  const scale = median(outer.map((point) => Math.min(40, point.trail / radius(point) ** 2)));
  const foretell = (point: Point): Spin => {
    const length = scale * radius(point) ** 2;
    const r = Math.hypot(point.x, point.y) || 1;
    return spinOf((length * point.x) / r, (length * point.y) / r);
  };
  const radial = median(
    outer.map((point) => {
      const size = Math.hypot(point.spin.p, point.spin.q) || 1;
      const along = spinOf(point.x, point.y);
      return (point.spin.p * along.p + point.spin.q * along.q) / (size * Math.hypot(along.p, along.q));
    }),
  );
  return { misfit: medianMisfit(points, foretell), radial, outer: median(outer.map((point) => point.trail)) };
}

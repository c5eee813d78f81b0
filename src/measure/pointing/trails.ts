import { median, quantile } from '../../math/statistics.js';
import type { ShutterMap, TrailCheck } from '../../model/sky.js';
import { directionOf, type Camera } from '../../physics/camera.js';
import type { Vector } from '../../physics/projection.js';
import { trailOf } from '../../physics/skyMotion.js';
import { spinOf } from '../../physics/starField.js';
import type { StarShape } from '../stars/shape.js';
import type { SkyTest } from './framing.js';

const COLUMNS = 24;

/** Under this many measured stars the comparison says nothing. */
const LEAST_SHAPES = 8;

/** What measuring and sampling alone make of a round star, pixels (docs/measures/stars.md). */
const MEASURING_PX = 2;

/** The trails that this exposure must have had, against those measured. */
export function checkTrails(
  camera: Camera,
  pole: Vector,
  seconds: number,
  isSky: SkyTest,
  shapes: readonly StarShape[],
): TrailCheck | null {
  const lengths = skyCells(camera, isSky).flatMap(({ x, y }) => {
    const direction = directionOf(camera, { x, y });
    const trail = direction === null ? null : trailOf(camera, pole, direction, seconds);
    return trail === null ? [] : [Math.hypot(trail.dx, trail.dy)];
  });
  if (lengths.length === 0) return null;
  const pairs = shapes.flatMap((shape) => {
    const direction = directionOf(camera, shape);
    const trail = direction === null ? null : trailOf(camera, pole, direction, seconds);
    if (trail === null) return [];
    const spin = { p: 12 * (shape.xx - shape.yy), q: 24 * shape.xy };
    const must = spinOf(trail.dx, trail.dy);
    const length = Math.hypot(trail.dx, trail.dy);
    const along = length < 1e-9 ? 0 : (spin.p * must.p + spin.q * must.q) / (length * length);
    return [{ along, rest: Math.sqrt(Math.hypot(spin.p - must.p, spin.q - must.q)), length }];
  });
  const known = pairs.length >= LEAST_SHAPES;
  const measuredPx = known ? Math.sqrt(Math.max(0, median(pairs.map(({ along }) => along)))) : null;
  const restPx = known ? beyondMeasuring(median(pairs.map(({ rest }) => rest))) : null;
  const atStars = known ? median(pairs.map(({ length }) => length)) : median(lengths);
  return {
    predictedMedianPx: round(atStars),
    predictedWorstPx: round(Math.max(...lengths)),
    measuredPx: measuredPx === null ? null : round(measuredPx),
    restPx: restPx === null ? null : round(restPx),
    says: inWords(atStars, measuredPx, restPx),
  };
}

/**
 * Length of a typical rest without what measuring makes of a round star. A rest is the length of a difference, which noise alone makes
 * positive; its square adds to that of noise (both are directions in a plane).
 */
function beyondMeasuring(restPx: number): number {
  return Math.max(0, restPx ** 4 - MEASURING_PX ** 4) ** 0.25;
}

function inWords(predicted: number, measured: number | null, rest: number | null): string {
  const must = `The sky's turning draws the stars out by ${figure(predicted)} px`;
  if (measured === null || rest === null) return `${must}; too few stars are clear enough to compare.`;
  const seen = `${must}, measured that way ${figure(measured)} px`;
  if (rest <= Math.max(MEASURING_PX, 0.35 * predicted)) return `${seen}: rotation explains their shape.`;
  return `${seen}; ${figure(rest)} px are left that rotation does not explain (shake, focus or coma).`;
}

/** The longest shutter in each part of the frame: near the pole longer, in the corners of a wide lens shorter. */
export function mapShutter(camera: Camera, pole: Vector, isSky: SkyTest, trailPxAllowed: number): ShutterMap | null {
  const cells = cellsOf(camera);
  const seconds = cells.map(({ x, y }) => {
    if (!isSky(x, y)) return null;
    const direction = directionOf(camera, { x, y });
    const trail = direction === null ? null : trailOf(camera, pole, direction, 1);
    if (trail === null) return null;
    return Math.min(3600, trailPxAllowed / Math.max(1e-6, Math.hypot(trail.dx, trail.dy)));
  });
  const some = seconds.filter((value) => value !== null);
  if (some.length === 0) return null;
  return {
    trailPxAllowed: round(trailPxAllowed),
    columns: COLUMNS,
    rows: cells.length / COLUMNS,
    seconds: seconds.map((value) => (value === null ? null : round(value))),
    shortestSeconds: round(Math.min(...some)),
    medianSeconds: round(quantile(some, 0.5)),
    longestSeconds: round(Math.max(...some)),
  };
}

/** Middles of a coarse grid over the frame, row by row. */
function cellsOf({ widthPx, heightPx }: Camera): { x: number; y: number }[] {
  const rows = Math.max(1, Math.round((COLUMNS * heightPx) / widthPx));
  return Array.from({ length: COLUMNS * rows }, (_, n) => ({
    x: (((n % COLUMNS) + 0.5) * widthPx) / COLUMNS,
    y: ((Math.floor(n / COLUMNS) + 0.5) * heightPx) / rows,
  }));
}

function skyCells(camera: Camera, isSky: SkyTest): { x: number; y: number }[] {
  return cellsOf(camera).filter(({ x, y }) => isSky(x, y));
}

function round(value: number): number {
  return Number(value.toFixed(2));
}

function figure(value: number): string {
  return value.toFixed(1);
}

import { median, quantile } from '../../math/statistics.js';
import type { Frame, Settings } from '../../model/frame.js';
import type { Stars } from '../../model/reading.js';
import type { Grid, Regions } from '../../model/regions.js';
import { rotationTrail, type Axis } from '../../physics/starField.js';
import { SIDEREAL_RATE_ARCSEC_PER_S, trailPx } from '../../physics/trailing.js';
import { LuminanceReader } from '../../physics/luminance.js';
import { findCause, LEAST_STARS, type FieldGeometry } from './cause.js';
import type { Detection } from './detect.js';
import { trailLengths } from './lengths.js';
import { trailLimit, typicalStretch } from './limit.js';
import { measureShape, type StarShape } from './shape.js';

/** Shapes are measured on at most this many stars, spread over the frame; the rest is only counted. */
const MOST_SHAPES = 180;

/** Elongation, width, direction and cause of the stars, and the trailing limit. Few stars give nulls and `too-few`. */
export function measureStars(
  frame: Frame,
  grid: Grid,
  regions: Regions,
  detection: Detection,
  trailPxAllowed: number | null,
): { stars: Stars; shapes: readonly StarShape[] } {
  const { settings } = frame;
  const shapes = typical(shapesOf(frame, grid, regions, detection));
  const geometry = geometryOf(settings);
  const { cause, axis } = findCause(shapes, geometry);
  const known = shapes.length >= 3;
  const trails = trailLengths(shapes);
  const elongation = known ? round(median(trails), 2) : null;
  const limit = trailLimit(settings, trailPxAllowed, { cause, elongationPx: elongation });
  const allowed = limit.trailPxAllowed;
  return {
    shapes,
    stars: {
      count: detection.candidates.length,
      fwhmPx: known ? round(2.3548 * median(shapes.map((shape) => shape.b)), 2) : null,
      elongationPx: elongation,
      axisRatio: known ? round(median(shapes.map((shape) => shape.a / shape.b)), 3) : null,
      directionDeg: known ? round(meanDirection(shapes), 1) : null,
      limit,
      predictedTrailPx: predictedTrail(settings, geometry, axis, shapes),
      overLimitFraction:
        known && allowed !== null ? round(trails.filter((trail) => trail > allowed).length / trails.length, 3) : null,
      cause,
    },
  };
}

/** The brightest candidates of each part of the frame in turn, so that no corner decides alone. */
function shapesOf(frame: Frame, grid: Grid, regions: Regions, detection: Detection): StarShape[] {
  const reader = new LuminanceReader(frame);
  const parts = new Map<number, number>();
  const perPart = Math.ceil((MOST_SHAPES * 3) / 48);
  const shapes: StarShape[] = [];
  for (const { bx, by } of detection.candidates) {
    const part = Math.floor((bx / grid.width) * 8) * 6 + Math.floor((by / grid.height) * 6);
    const used = parts.get(part) ?? 0;
    if (used >= perPart) continue;
    parts.set(part, used + 1);
    const x = bx * grid.blockPx + (grid.blockPx >> 1);
    const y = by * grid.blockPx + (grid.blockPx >> 1);
    const shape = measureShape(frame, regions.fineMask, reader, x, y);
    if (
      typeof shape !== 'string' &&
      !shapes.some((other) => Math.abs(other.x - shape.x) < 2 && Math.abs(other.y - shape.y) < 2)
    )
      shapes.push(shape);
    if (shapes.length >= MOST_SHAPES) break;
  }
  return shapes;
}

/** Leaves out the widest and the narrowest: blends, glints, what is left of hot pixels. */
function typical(shapes: StarShape[]): StarShape[] {
  if (shapes.length < 6) return shapes;
  const widths = shapes.map((shape) => shape.b);
  const middle = median(widths);
  const kept = shapes.filter((shape) => shape.b < 1.6 * middle && shape.b > 0.55 * middle);
  // The clearest stars measure best; keep the better part when there are many.
  if (kept.length < 40) return kept;
  const least = quantile(
    kept.map((shape) => shape.fluxOverNoise),
    0.35,
  );
  return kept.filter((shape) => shape.fluxOverNoise >= least);
}

function geometryOf(settings: Settings): FieldGeometry {
  const { widthPx, heightPx, focalMm, pixelPitchUm } = settings;
  return {
    centreX: (widthPx - 1) / 2,
    centreY: (heightPx - 1) / 2,
    halfDiagonal: Math.hypot(widthPx, heightPx) / 2,
    focalPx: focalMm === null || pixelPitchUm === null ? null : (focalMm * 1000) / pixelPitchUm,
    shutterSeconds: settings.shutterSeconds,
  };
}

/** Mean of axes, not of arrows: angles are doubled, averaged and halved, weighted by elongation. */
function meanDirection(shapes: readonly StarShape[]): number {
  const p = median(shapes.map((shape) => shape.xx - shape.yy));
  const q = median(shapes.map((shape) => 2 * shape.xy));
  const direction = (Math.atan2(q, p) * 90) / Math.PI;
  return direction >= 90 ? direction - 180 : direction;
}

/** With the sky's axis known, the trail at each star; else from the lens alone, for a star on the celestial equator. */
function predictedTrail(
  settings: Settings,
  geometry: FieldGeometry,
  axis: Axis | null,
  shapes: readonly StarShape[],
): Stars['predictedTrailPx'] {
  const { shutterSeconds, focalMm, pixelPitchUm } = settings;
  if (shutterSeconds === null || focalMm === null || pixelPitchUm === null) return null;
  const lens = { focalMm, pixelPitchUm };
  const onAxis = trailPx(shutterSeconds, focalMm, pixelPitchUm);
  if (axis !== null && geometry.focalPx !== null && shapes.length >= LEAST_STARS) {
    const angle = ((SIDEREAL_RATE_ARCSEC_PER_S * shutterSeconds) / 3600) * (Math.PI / 180);
    const trails = shapes.map((shape) => {
      const trail = rotationTrail(
        shape.x - geometry.centreX,
        shape.y - geometry.centreY,
        geometry.focalPx!,
        axis,
        angle,
      );
      return Math.hypot(trail.dx, trail.dy);
    });
    return { median: round(median(trails), 2), worst: round(Math.max(...trails), 2) };
  }
  return {
    median: round(onAxis * typicalStretch(settings, lens, 0.6), 2),
    worst: round(onAxis * typicalStretch(settings, lens, 1), 2),
  };
}

function round(value: number, digits: number): number {
  return Number(value.toFixed(digits));
}

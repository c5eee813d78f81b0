import type { Frame } from '../../model/frame.js';
import { median, robustSpread } from '../../math/statistics.js';
import type { LuminanceReader } from '../../physics/luminance.js';
import { starWindow } from './window.js';

/** Plain second moments of one star, upright pixels. */
export interface StarShape {
  readonly x: number;
  readonly y: number;
  /** Standard deviations along the long and the short axis, pixel integration included. */
  readonly a: number;
  readonly b: number;
  /** Long axis from +x (right) towards +y (down), degrees in [-90, 90). */
  readonly directionDeg: number;
  /** Central second moments, square pixels. */
  readonly xx: number;
  readonly yy: number;
  readonly xy: number;
  readonly fluxOverNoise: number;
  /** Light at the middle over light at the rim of the half-light ellipse: a defocused disc is flat or hollow. */
  readonly hollow: boolean;
}

export type Rejection = 'saturated' | 'faint' | 'edge' | 'hot-pixel' | 'blended' | 'large';

/** A star this near to clipping is flattened: part of the clip sample. */
const NEAR_CLIPPING = 0.97;

/** Longest half side of a star's window, pixels. */
const MOST_REACH = 40;

/**
 * Isophotal moments by the SExtractor definition (manual, Position.rst): intensity-weighted over the connected pixels above the
 * threshold, grown by two pixels so that the wings count, background taken off.
 */
export function measureShape(
  frame: Frame,
  mask: Uint8Array,
  reader: LuminanceReader,
  peakX: number,
  peakY: number,
): StarShape | Rejection {
  if (isBurntOut(frame, peakX, peakY)) return 'saturated';
  for (let reach = 12; ; reach = Math.min(MOST_REACH, reach * 2)) {
    const result = inWindow(frame, mask, reader, peakX, peakY, reach);
    if (result !== 'large' || reach >= MOST_REACH) return result;
  }
}

/** Clipped at the very peak: nothing else need be looked at. */
function isBurntOut({ samples, widthPx, heightPx, clipSample }: Frame, peakX: number, peakY: number): boolean {
  const limit = clipSample * NEAR_CLIPPING;
  for (let y = Math.max(0, peakY - 2); y <= Math.min(heightPx - 1, peakY + 2); y++)
    for (let x = Math.max(0, peakX - 2); x <= Math.min(widthPx - 1, peakX + 2); x++) {
      const at = (y * widthPx + x) * 3;
      if (samples[at]! >= limit || samples[at + 1]! >= limit || samples[at + 2]! >= limit) return true;
    }
  return false;
}

function inWindow(
  frame: Frame,
  mask: Uint8Array,
  reader: LuminanceReader,
  peakX: number,
  peakY: number,
  reach: number,
): StarShape | Rejection {
  const { widthPx, heightPx, samples, clipSample } = frame;
  const x0 = peakX - reach;
  const y0 = peakY - reach;
  const side = 2 * reach + 1;
  if (x0 < 0 || y0 < 0 || x0 + side > widthPx || y0 + side > heightPx) return 'edge';
  const window = starWindow(frame, mask, reader, x0, y0, reach);
  if (window === null) return 'edge';
  const { light, rim: border } = window;
  const background = median(border);
  const noise = Math.max(robustSpread(border), background * 0.004, 1e-7);
  const members = footprint(light, side, reach, background + 2.2 * noise, background + 6 * noise);
  if (members === 'large' || members === 'faint') return members;
  for (const i of members) {
    const pixel = (y0 + Math.floor(i / side)) * widthPx + x0 + (i % side);
    for (let c = 0; c < 3; c++) if (samples[pixel * 3 + c]! >= clipSample * NEAR_CLIPPING) return 'saturated';
  }
  return moments(light, side, members, background, noise, x0, y0);
}

/** Pixels joined to the middle above `low`, with at least one above `high`. */
function footprint(
  light: Float32Array,
  side: number,
  reach: number,
  low: number,
  high: number,
): number[] | 'large' | 'faint' {
  const seen = new Uint8Array(side * side);
  let start = reach * side + reach;
  for (let dy = -2; dy <= 2; dy++)
    for (let dx = -2; dx <= 2; dx++) {
      const i = (reach + dy) * side + reach + dx;
      if (light[i]! > light[start]!) start = i;
    }
  if (light[start]! < high) return 'faint';
  const members = [start];
  seen[start] = 1;
  for (let n = 0; n < members.length; n++) {
    const i = members[n]!;
    const x = i % side;
    const y = Math.floor(i / side);
    if (x < 3 || y < 3 || x > side - 4 || y > side - 4) return 'large';
    for (const j of [i - 1, i + 1, i - side, i + side, i - side - 1, i - side + 1, i + side - 1, i + side + 1]) {
      if (seen[j] === 1 || light[j]! <= low) continue;
      seen[j] = 1;
      members.push(j);
    }
  }
  return members;
}

function moments(
  light: Float32Array,
  side: number,
  core: readonly number[],
  background: number,
  noise: number,
  x0: number,
  y0: number,
): StarShape | Rejection {
  const inside = new Uint8Array(side * side);
  for (const i of core)
    for (let dy = -2; dy <= 2; dy++)
      for (let dx = -2; dx <= 2; dx++) if (Math.abs(dx) + Math.abs(dy) < 4) inside[i + dy * side + dx] = 1;
  let sum = 0;
  let sx = 0;
  let sy = 0;
  let count = 0;
  for (let i = 0; i < inside.length; i++) {
    if (inside[i] === 0) continue;
    const flux = light[i]! - background;
    sum += flux;
    sx += flux * (i % side);
    sy += flux * Math.floor(i / side);
    count++;
  }
  const fluxOverNoise = sum / (noise * Math.sqrt(count));
  if (fluxOverNoise < 18) return 'faint';
  const cx = sx / sum;
  const cy = sy / sum;
  let xx = 0;
  let yy = 0;
  let xy = 0;
  for (let i = 0; i < inside.length; i++) {
    if (inside[i] === 0) continue;
    const flux = (light[i]! - background) / sum;
    const dx = (i % side) - cx;
    const dy = Math.floor(i / side) - cy;
    xx += flux * dx * dx;
    yy += flux * dy * dy;
    xy += flux * dx * dy;
  }
  const half = (xx + yy) / 2;
  const split = Math.hypot((xx - yy) / 2, xy);
  const a2 = half + split;
  const b2 = half - split;
  // Narrower than a lens can draw: a hot pixel. (A single pixel has b^2 = 0 here, a top-hat 1/12.)
  if (b2 < 0.2 || core.length < 4) return 'hot-pixel';
  if (twoPeaks(light, side, core, background, noise)) return 'blended';
  if (lopsided(light, side, inside, background, sum, cx, cy, a2)) return 'blended';
  const direction = (0.5 * Math.atan2(2 * xy, xx - yy) * 180) / Math.PI;
  return {
    x: x0 + cx,
    y: y0 + cy,
    a: Math.sqrt(a2),
    b: Math.sqrt(b2),
    directionDeg: direction >= 90 ? direction - 180 : direction,
    xx,
    yy,
    xy,
    fluxOverNoise,
    hollow: isHollow(light, side, cx, cy, background, Math.sqrt(half)),
  };
}

/**
 * A second peak with a valley before it: two stars. Light is averaged over 3 x 3 pixels first; a trail or a defocused disc is flat
 * or hollow, but its valley is shallow against its noise.
 */
function twoPeaks(
  light: Float32Array,
  side: number,
  core: readonly number[],
  background: number,
  noise: number,
): boolean {
  const calm = (i: number): number => {
    let sum = 0;
    for (let dy = -side; dy <= side; dy += side) sum += light[i + dy - 1]! + light[i + dy]! + light[i + dy + 1]!;
    return sum / 9 - background;
  };
  const heights = new Map(core.map((i) => [i, calm(i)]));
  const at = (i: number): number => heights.get(i) ?? calm(i);
  const steps = [-1, 1, -side, side, -side - 1, -side + 1, side - 1, side + 1];
  const peaks = core.filter((i) => steps.every((step) => at(i) >= at(i + step)));
  const main = peaks.reduce((best, i) => (at(i) > at(best) ? i : best), peaks[0] ?? core[0]!);
  return peaks.some((other) => {
    if (other === main || at(other) < 0.2 * at(main)) return false;
    const [x0, y0, x1, y1] = [main % side, Math.floor(main / side), other % side, Math.floor(other / side)];
    const length = Math.max(Math.abs(x1 - x0), Math.abs(y1 - y0));
    let valley = Number.POSITIVE_INFINITY;
    for (let n = 1; n < length; n++) {
      const i = Math.round(y0 + ((y1 - y0) * n) / length) * side + Math.round(x0 + ((x1 - x0) * n) / length);
      valley = Math.min(valley, at(i));
    }
    return valley < 0.85 * at(other) - 1.5 * noise;
  });
}

/** Two stars in one footprint leave the third moment far from zero. */
function lopsided(
  light: Float32Array,
  side: number,
  inside: Uint8Array,
  background: number,
  sum: number,
  cx: number,
  cy: number,
  a2: number,
): boolean {
  let mx = 0;
  let my = 0;
  for (let i = 0; i < inside.length; i++) {
    if (inside[i] === 0) continue;
    const flux = (light[i]! - background) / sum;
    const dx = (i % side) - cx;
    const dy = Math.floor(i / side) - cy;
    const r2 = dx * dx + dy * dy;
    mx += flux * dx * r2;
    my += flux * dy * r2;
  }
  return Math.hypot(mx, my) / a2 ** 1.5 > 0.55;
}

function isHollow(
  light: Float32Array,
  side: number,
  cx: number,
  cy: number,
  background: number,
  radius: number,
): boolean {
  if (radius < 2) return false;
  const at = (x: number, y: number): number => light[Math.round(y) * side + Math.round(x)]! - background;
  const middle = at(cx, cy);
  let rim = 0;
  for (let n = 0; n < 12; n++)
    rim += at(cx + radius * Math.cos((n * Math.PI) / 6), cy + radius * Math.sin((n * Math.PI) / 6)) / 12;
  return rim > 0.85 * middle;
}

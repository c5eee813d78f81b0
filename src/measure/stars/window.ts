import { median } from '../../math/statistics.js';
import type { Frame } from '../../model/frame.js';
import { REGION } from '../../model/regions.js';
import type { LuminanceReader } from '../../physics/luminance.js';

/** Light in a square window round a star, and of its rim, three pixels wide. */
export interface StarWindow {
  readonly light: Float32Array;
  readonly rim: Float64Array;
}

/** The window of side 2 reach + 1 whose corner is (x0, y0), inside the frame; null when its rim is not all sky. */
export function starWindow(
  frame: Frame,
  mask: Uint8Array,
  reader: LuminanceReader,
  x0: number,
  y0: number,
  reach: number,
): StarWindow | null {
  const side = 2 * reach + 1;
  const light = new Float32Array(side * side);
  const rim = new Float64Array(side * side - (side - 6) ** 2);
  let rimPixels = 0;
  for (let y = 0; y < side; y++) {
    for (let x = 0; x < side; x++) {
      const pixel = (y0 + y) * frame.widthPx + x0 + x;
      light[y * side + x] = reader.at(pixel);
      if (!isRim(x, y, reach)) continue;
      if (mask[pixel] !== REGION.sky) return null;
      rim[rimPixels++] = light[y * side + x]!;
    }
  }
  return frame.filters === undefined ? { light, rim } : fromSites(frame, frame.filters, x0, y0, reach);
}

function isRim(x: number, y: number, reach: number): boolean {
  return Math.max(Math.abs(x - reach), Math.abs(y - reach)) >= reach - 2;
}

/** Pixels from the middle within which a star's colour is measured. */
const CORE = 5;

/**
 * A raw frame's own sites: every site is used, not one colour interpolated, which would smear sharp stars along a diagonal. Background is
 * taken off by colour, and the colours are brought to the star's own green light, so that its colour makes no chequers.
 */
function fromSites(
  frame: Frame,
  filters: NonNullable<Frame['filters']>,
  x0: number,
  y0: number,
  reach: number,
): StarWindow {
  const { samples, toLinear, widthPx } = frame;
  const side = 2 * reach + 1;
  const light = new Float32Array(side * side);
  const colours = new Uint8Array(side * side);
  const rims: [number[], number[], number[]] = [[], [], []];
  for (let y = 0; y < side; y++)
    for (let x = 0; x < side; x++) {
      const [px, py] = [x0 + x, y0 + y];
      const colour = filters.values[(py % filters.rows) * filters.columns + (px % filters.columns)]!;
      const value = toLinear[colour]![samples[(py * widthPx + px) * 3 + colour]!]!;
      light[y * side + x] = value;
      colours[y * side + x] = colour;
      if (isRim(x, y, reach)) rims[colour]!.push(value);
    }
  const background = rims.map((values) => (values.length === 0 ? 0 : median(values)));
  const sums = [0, 0, 0];
  const sites = [0, 0, 0];
  for (let y = reach - CORE; y <= reach + CORE; y++)
    for (let x = reach - CORE; x <= reach + CORE; x++) {
      const i = y * side + x;
      sums[colours[i]!]! += light[i]! - background[colours[i]!]!;
      sites[colours[i]!]!++;
    }
  const flux = sums.map((sum, c) => sum / Math.max(1, sites[c]!));
  const gains = flux.map((own) => (own > 0 && flux[1]! > 0 ? Math.max(0.3, Math.min(3.5, flux[1]! / own)) : 1));
  const rim = new Float64Array(side * side - (side - 6) ** 2);
  let rimPixels = 0;
  for (let y = 0; y < side; y++)
    for (let x = 0; x < side; x++) {
      const i = y * side + x;
      const c = colours[i]!;
      light[i] = (light[i]! - background[c]!) * gains[c]! + background[1]!;
      if (isRim(x, y, reach)) rim[rimPixels++] = light[i]!;
    }
  return { light, rim };
}

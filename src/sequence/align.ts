import { bestShift } from '../math/bestShift.js';
import type { LightMap } from '../model/lightMap.js';
import { REGION } from '../model/regions.js';

/** How one frame lies over another: move by (dx, dy) cells, then turn by `turn` radians about the middle. */
export interface Placement {
  readonly dx: number;
  readonly dy: number;
  readonly turn: number;
}

/** Moves looked for, cells either way. */
const REACH = 4;

/** Placement of `other` over `one`, from what stands on the ground in both; stars and sky turn and are left out. */
export function placementOf(one: LightMap, other: LightMap): Placement {
  const [a, b] = [edgesOf(one), edgesOf(other)];
  const whole = shiftIn(one, a, b, 0, one.width);
  const left = shiftIn(one, a, b, 0, Math.floor(one.width / 2));
  const right = shiftIn(one, a, b, Math.floor(one.width / 2), one.width);
  // The halves lie half a width apart; a turn lifts one against the other.
  const turn = left === null || right === null ? 0 : (right.dy - left.dy) / (one.width / 2);
  const found = { dx: whole?.dx ?? 0, dy: whole?.dy ?? 0, turn: Math.abs(turn) < 0.003 ? 0 : turn };
  if (found.turn === 0) return found;
  // Ground lies below the middle, so that a turn looks like a move as well: what is left of it, once turned back.
  const rest = shiftIn(one, a, edgesOf(placed(other, found)), 0, one.width);
  return { ...found, dx: found.dx + (rest?.dx ?? 0), dy: found.dy + (rest?.dy ?? 0) };
}

/** `map` moved and turned back (bilinear; edges repeated). */
export function placed(map: LightMap, { dx, dy, turn }: Placement): LightMap {
  if (dx === 0 && dy === 0 && turn === 0) return map;
  const { width, height } = map;
  const [cx, cy] = [(width - 1) / 2, (height - 1) / 2];
  const [cos, sin] = [Math.cos(turn), Math.sin(turn)];
  const planes = map.planes.map((plane) => new Float32Array(plane.length)) as unknown as LightMap['planes'];
  const regions = new Uint8Array(map.regions.length);
  const burnt = new Uint8Array(map.burnt.length);
  for (let y = 0; y < height; y++)
    for (let x = 0; x < width; x++) {
      const sx = clamp(cx + cos * (x - cx) - sin * (y - cy) + dx, width - 1);
      const sy = clamp(cy + sin * (x - cx) + cos * (y - cy) + dy, height - 1);
      const [x0, y0] = [Math.floor(sx), Math.floor(sy)];
      const [x1, y1] = [Math.min(width - 1, x0 + 1), Math.min(height - 1, y0 + 1)];
      const [fx, fy] = [sx - x0, sy - y0];
      const i = y * width + x;
      map.planes.forEach((plane, c) => {
        const top = plane[y0 * width + x0]! * (1 - fx) + plane[y0 * width + x1]! * fx;
        const bottom = plane[y1 * width + x0]! * (1 - fx) + plane[y1 * width + x1]! * fx;
        planes[c]![i] = top * (1 - fy) + bottom * fy;
      });
      const near = Math.round(sy) * width + Math.round(sx);
      regions[i] = map.regions[near]!;
      burnt[i] = map.burnt[near]!;
    }
  return { width, height, planes, regions, burnt };
}

/** Light over its surroundings in stops, on the ground: what stays when lamps change. */
function edgesOf({ width, height, planes, regions }: LightMap): Float32Array {
  const log = Float32Array.from(planes[1], (value) => Math.log2(Math.max(value, 2 ** -13)));
  const out = new Float32Array(log.length);
  for (let y = 1; y < height - 1; y++)
    for (let x = 1; x < width - 1; x++) {
      const i = y * width + x;
      if (regions[i] === REGION.sky || regions[i] === REGION.source) continue;
      const around = (log[i - 1]! + log[i + 1]! + log[i - width]! + log[i + width]!) / 4;
      out[i] = Math.max(-1.5, Math.min(1.5, log[i]! - around));
    }
  return out;
}

/** The shift of the best correlation within columns, to a part of a cell by a parabola through it; null where nothing correlates. */
function shiftIn(
  { width, height }: LightMap,
  a: Float32Array,
  b: Float32Array,
  from: number,
  to: number,
): { dx: number; dy: number } | null {
  const correlation = (dx: number, dy: number): number => {
    let ab = 0;
    let aa = 0;
    let bb = 0;
    for (let y = Math.max(0, -dy); y < Math.min(height, height - dy); y++)
      for (let x = Math.max(from, -dx); x < Math.min(to, width - dx); x++) {
        const one = a[y * width + x]!;
        const two = b[(y + dy) * width + x + dx]!;
        ab += one * two;
        aa += one * one;
        bb += two * two;
      }
    return ab / Math.sqrt(Math.max(1e-9, aa * bb));
  };
  const { dx, dy, value } = bestShift(correlation, REACH);
  if (value < 0.15) return null;
  // Less than a tenth of a cell is noise.
  return { dx: Math.abs(dx) < 0.1 ? 0 : dx, dy: Math.abs(dy) < 0.1 ? 0 : dy };
}

function clamp(value: number, most: number): number {
  return Math.max(0, Math.min(most, value));
}

import type { LightMap } from '../../model/lightMap.js';
import { REGION, type Grid } from '../../model/regions.js';
import { linearToSrgb } from '../../physics/encoding.js';
import { wrap } from '../style.js';
import { GLYPH_ADVANCE, GLYPH_HEIGHT } from './glyphs.js';
import { Sheet } from './sheet.js';

/** Each of the two pictures is at most this wide. */
const MOST_WIDTH = 960;
const GAP = 8;
/** Light that is foretold to clip is crossed by lines this far apart. */
const HATCH = 7;

/** The frame that is changed: its light, and a REGION value for each block. */
export interface PreviewFrame {
  readonly grid: Grid;
  readonly mask: Uint8Array;
  /** Light of each code value by the camera's own display curve, by channel; where it is not known the sRGB curve draws. */
  readonly display: DisplayCurve | null;
}

/** What is written under the two pictures. */
export interface PreviewWords {
  readonly now: string;
  readonly next: string;
  readonly below: readonly string[];
}

/**
 * The frame as it is and as it is foretold, side by side, as PNG. Detail is the frame's own, its light changed cell by cell; what will clip
 * is hatched, so that it shows in grey as well.
 */
export function previewPicture(
  { grid, mask, display }: PreviewFrame,
  now: LightMap,
  next: LightMap['planes'],
  words: PreviewWords,
): Buffer {
  const scale = Math.min(1, MOST_WIDTH / grid.width);
  const width = Math.max(1, Math.round(grid.width * scale));
  const height = Math.max(1, Math.round(grid.height * scale));
  const size = width > 500 ? 2 : 1;
  const lineHeight = (GLYPH_HEIGHT + 4) * size;
  const letters = (room: number): number => Math.max(12, Math.floor((room - 12) / (GLYPH_ADVANCE * size)));
  const left = wrap(words.now, letters(width));
  const right = wrap(words.next, letters(width));
  const below = words.below.flatMap((line) => wrap(line, letters(2 * width + GAP)));
  const under = Math.max(left.length, right.length);
  const sheet = new Sheet(2 * width + GAP, height + (under + below.length) * lineHeight + 12);
  const ratios = next.map((plane, c) => plane.map((value, i) => (value + 1e-5) / (now.planes[c]![i]! + 1e-5)));
  const toned = tonerOf(display);
  for (let y = 0; y < height; y++)
    for (let x = 0; x < width; x++) {
      const light = lightAt(grid, x / scale, y / scale);
      sheet.dot(x, y, toned(light));
      const isSky = mask[blockAt(grid, x / scale, y / scale)] === REGION.sky;
      const gains = between(ratios, now, (x + 0.5) / width, (y + 0.5) / height, isSky);
      const foretold = light.map((value, c) => value * gains[c]!) as [number, number, number];
      const clips = foretold.some((value) => value >= 1);
      const line = (x + y) % HATCH === 0;
      sheet.dot(x + width + GAP, y, clips && line ? [0, 0, 0] : toned(foretold));
    }
  const write = (x: number, lines: readonly string[], from: number): void => {
    lines.forEach((line, n) => {
      sheet.text(x, height + 6 + (from + n) * lineHeight, line, size);
    });
  };
  write(6, left, 0);
  write(width + GAP + 6, right, 0);
  write(6, below, under);
  return sheet.bytes();
}

type Rgb = [number, number, number];

/** Tables of 256 of linear light, 1 = clipping: red, green, blue. */
type DisplayCurve = readonly [Float32Array, Float32Array, Float32Array];

function blockAt({ width, height }: Grid, x: number, y: number): number {
  return Math.min(height - 1, Math.floor(y)) * width + Math.min(width - 1, Math.floor(x));
}

function lightAt(grid: Grid, x: number, y: number): Rgb {
  const i = blockAt(grid, x, y);
  return [grid.red[i]!, grid.green[i]!, grid.blue[i]!];
}

/** Light to code values as the camera's JPEG would have them: the inverse of its curve, else of sRGB's. */
export function tonerOf(display: DisplayCurve | null): (light: Rgb) => Rgb {
  if (display === null)
    return (light) => light.map((value) => Math.round(255 * linearToSrgb(Math.max(0, Math.min(1, value))))) as Rgb;
  return (light) => light.map((value, c) => codeOf(display[c]!, value)) as Rgb;
}

/** The code value whose light is nearest (tables never fall). */
function codeOf(table: Float32Array, light: number): number {
  let [low, high] = [0, table.length - 1];
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    if (table[middle]! <= light) low = middle;
    else high = middle;
  }
  return light - table[low]! < table[high]! - light ? low : high;
}

/**
 * Bilinear between the middles of cells on the same side of the skyline, so that neither side's change bleeds into the other; `x`, `y` from 0
 * to 1 over the frame.
 */
function between(
  planes: readonly Float32Array[],
  { width, height, regions }: LightMap,
  x: number,
  y: number,
  isSky: boolean,
): Rgb {
  const cx = Math.max(0, Math.min(width - 1, x * width - 0.5));
  const cy = Math.max(0, Math.min(height - 1, y * height - 0.5));
  const [x0, y0] = [Math.floor(cx), Math.floor(cy)];
  const [fx, fy] = [cx - x0, cy - y0];
  const sums: Rgb = [0, 0, 0];
  const all: Rgb = [0, 0, 0];
  let weight = 0;
  for (const [dx, wx] of [
    [0, 1 - fx],
    [1, fx],
  ] as const)
    for (const [dy, wy] of [
      [0, 1 - fy],
      [1, fy],
    ] as const) {
      const i = Math.min(height - 1, y0 + dy) * width + Math.min(width - 1, x0 + dx);
      const same = (regions[i] === REGION.sky) === isSky;
      if (same) weight += wx * wy;
      for (let c = 0; c < 3; c++) {
        const part = wx * wy * planes[c]![i]!;
        all[c]! += part;
        if (same) sums[c]! += part;
      }
    }
  return weight < 1e-3 ? all : (sums.map((sum) => sum / weight) as Rgb);
}

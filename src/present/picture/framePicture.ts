import { cautionsFor } from '../cautions.js';
import { LabelPlaces } from './labelPlaces.js';
import { REGION, type Grid, type Regions } from '../../model/regions.js';
import type { ClipCause, Reading } from '../../model/reading.js';
import { linearToSrgb } from '../../physics/encoding.js';
import { wrap } from '../style.js';
import { GLYPH_ADVANCE, GLYPH_HEIGHT } from './glyphs.js';
import { Sheet } from './sheet.js';

/** A star as it is drawn: second moments in full-size pixels. */
export interface DrawnShape {
  readonly x: number;
  readonly y: number;
  readonly a: number;
  readonly b: number;
  readonly directionDeg: number;
}

/** Each cause has its own outline: drawn and skipped lengths. No colour carries meaning. */
const OUTLINES: Readonly<Record<ClipCause, readonly number[]>> = {
  'painted-surface': [100, 0],
  source: [10, 5],
  star: [2, 6],
  moon: [10, 4, 2, 4],
  sky: [2, 3],
  'horizon-glow': [18, 4, 3, 4, 3, 4],
};

const SKYLINE = [22, 6];
const PAINT_EDGE = [3, 6];
/** Star outlines are enlarged this much. */
const STAR_SCALE = 5;
const MOST_STARS = 60;
const MOST_BOXES = 6;
/** Clipped places smaller than this part of the frame get no box. */
const LEAST_SHARE = 0.0002;

/** The frame with its regions, clipped places and star shapes drawn on it, and a key below. PNG bytes. */
export function framePicture(reading: Reading, grid: Grid, regions: Regions, shapes: readonly DrawnShape[]): Buffer {
  const letter = grid.width > 700 ? 2 : 1;
  const key = keyLines(reading, Math.floor((grid.width - 20) / (GLYPH_ADVANCE * letter)));
  const lineHeight = (GLYPH_HEIGHT + 4) * letter;
  const sheet = new Sheet(grid.width, grid.height + key.length * lineHeight + 16);
  paintFrame(sheet, grid);
  outline(sheet, grid, regions.mask, (value) => value === REGION.sky, SKYLINE);
  outline(sheet, grid, regions.mask, (value) => value === REGION.painted, PAINT_EDGE);
  drawClips(sheet, reading, grid, letter);
  // Too few say nothing: the key does not name them either.
  const drawn = reading.stars.cause === 'too-few' ? 0 : MOST_STARS;
  shapes.slice(0, drawn).forEach((shape) => {
    drawStar(sheet, shape, grid.blockPx);
  });
  key.forEach(({ words, sample }, n) => {
    const y = grid.height + 8 + n * lineHeight;
    if (sample !== null) drawSample(sheet, sample, y + lineHeight / 2 - 3);
    sheet.text(sample === null ? 10 : 84, y, words, letter);
  });
  return sheet.bytes();
}

export function paintFrame(sheet: Sheet, grid: Grid): void {
  const tone = (light: number): number => Math.round(255 * linearToSrgb(Math.max(0, Math.min(1, light))));
  for (let y = 0; y < grid.height; y++)
    for (let x = 0; x < grid.width; x++) {
      const i = y * grid.width + x;
      sheet.dot(x, y, [tone(grid.red[i]!), tone(grid.green[i]!), tone(grid.blue[i]!)]);
    }
}

/** Border blocks of a region, drawn by a pattern along the picture's rows and columns. */
function outline(
  sheet: Sheet,
  grid: Grid,
  mask: Uint8Array,
  inside: (value: number) => boolean,
  pattern: readonly number[],
): void {
  const { width, height } = grid;
  const period = pattern[0]! + pattern[1]!;
  const spots: { x: number; y: number }[] = [];
  for (let y = 1; y < height - 1; y++)
    for (let x = 1; x < width - 1; x++) {
      const i = y * width + x;
      if (
        !inside(mask[i]!) ||
        (inside(mask[i + 1]!) && inside(mask[i + width]!) && inside(mask[i - 1]!) && inside(mask[i - width]!))
      )
        continue;
      if ((x + y) % period < pattern[0]!) spots.push({ x, y });
    }
  sheet.spots(spots, 0);
}

function drawClips(sheet: Sheet, reading: Reading, { blockPx, height }: Grid, letter: number): void {
  const labels = new LabelPlaces(sheet, height, letter);
  boxedClips(reading).forEach(({ cause, box }, n) => {
    const pad = 3;
    const left = box.x / blockPx - pad;
    const top = box.y / blockPx - pad;
    const right = (box.x + box.width) / blockPx + pad;
    const bottom = (box.y + box.height) / blockPx + pad;
    const corners = [
      { x: left, y: top },
      { x: right, y: top },
      { x: right, y: bottom },
      { x: left, y: bottom },
      { x: left, y: top },
    ];
    sheet.path(corners, OUTLINES[cause], 1);
    labels.write(String(n + 1), (wide, high) => [
      { x: left, y: top - high - 3 * letter },
      { x: right - wide, y: top - high - 3 * letter },
      { x: left, y: bottom + 3 * letter },
      { x: right - wide, y: bottom + 3 * letter },
      { x: right + 2 * letter, y: top },
      { x: left - wide - 2 * letter, y: top },
    ]);
  });
}

function boxedClips(reading: Reading): Reading['clips'] {
  return reading.clips.filter((clip) => clip.cause !== 'star' && clip.share >= LEAST_SHARE).slice(0, MOST_BOXES);
}

function drawStar(sheet: Sheet, shape: DrawnShape, blockPx: number): void {
  const angle = (shape.directionDeg * Math.PI) / 180;
  const points = Array.from({ length: 25 }, (_, n) => {
    const t = (n * Math.PI) / 12;
    const along = (shape.a * STAR_SCALE * Math.cos(t)) / blockPx;
    const across = (shape.b * STAR_SCALE * Math.sin(t)) / blockPx;
    return {
      x: shape.x / blockPx + along * Math.cos(angle) - across * Math.sin(angle),
      y: shape.y / blockPx + along * Math.sin(angle) + across * Math.cos(angle),
    };
  });
  sheet.path(points, [100, 0]);
}

interface KeyLine {
  readonly words: string;
  readonly sample: { readonly shape: 'line' | 'box' | 'ellipse'; readonly pattern: readonly number[] } | null;
}

/** What the thing looks like on the picture, small: a line for an edge, a box for a clipped place, an ellipse for a star. */
function drawSample(sheet: Sheet, sample: NonNullable<KeyLine['sample']>, y: number): void {
  const { shape, pattern } = sample;
  if (shape === 'line')
    sheet.path(
      [
        { x: 10, y },
        { x: 70, y },
      ],
      pattern,
      0,
    );
  else if (shape === 'box')
    sheet.path(
      [
        { x: 12, y: y - 6 },
        { x: 68, y: y - 6 },
        { x: 68, y: y + 6 },
        { x: 12, y: y + 6 },
        { x: 12, y: y - 6 },
      ],
      pattern,
      1,
    );
  else
    sheet.path(
      Array.from({ length: 25 }, (_, n) => ({
        x: 40 + 14 * Math.cos((n * Math.PI) / 12),
        y: y + 5 * Math.sin((n * Math.PI) / 12),
      })),
      pattern,
    );
}

function keyLines(reading: Reading, columns: number): KeyLine[] {
  const clips = boxedClips(reading);
  const lines: KeyLine[] = [
    { words: 'edge of the sky', sample: { shape: 'line', pattern: SKYLINE } },
    ...(reading.regions.painted.areaFraction > 0
      ? [{ words: 'edge of painted ground', sample: { shape: 'line' as const, pattern: PAINT_EDGE } }]
      : []),
  ];
  for (const cause of Object.keys(OUTLINES) as ClipCause[]) {
    const numbers = clips.flatMap((clip, n) => (clip.cause === cause ? [String(n + 1)] : []));
    if (numbers.length > 0)
      lines.push({
        words: `clipped, ${cause.replace('-', ' ')}: ${numbers.join(', ')}`,
        sample: { shape: 'box', pattern: OUTLINES[cause] },
      });
  }
  const { stars } = reading;
  if (stars.elongationPx !== null && stars.cause !== 'too-few')
    lines.push({
      words: `star shapes, drawn ${String(STAR_SCALE)} x: ${shapeInWords(stars)}, ${String(stars.elongationPx)} px`,
      sample: { shape: 'ellipse', pattern: [100, 0] },
    });
  for (const text of [reading.advice.summary, ...cautionsFor(reading.advice.options[0])])
    for (const words of wrap(text, columns)) lines.push({ words, sample: null });
  return lines;
}

/** Trails within the limit are no fault. */
function shapeInWords({ cause, elongationPx, limit: { trailPxAllowed } }: Reading['stars']): string {
  const within = trailPxAllowed !== null && elongationPx !== null && elongationPx <= trailPxAllowed;
  return cause === 'trailing' && within ? 'turned, within the limit' : cause;
}

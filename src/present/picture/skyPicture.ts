import { LabelPlaces } from './labelPlaces.js';
import { REGION, type Grid } from '../../model/regions.js';
import type { BodyTrack, SkyReading } from '../../model/sky.js';
import { clockOf } from '../../physics/localTime.js';
import { wrap } from '../style.js';
import { paintFrame } from './framePicture.js';
import { GLYPH_ADVANCE, GLYPH_HEIGHT } from './glyphs.js';
import { Sheet } from './sheet.js';

/** Where the body is seen, and where the ground or the frame's edge hides it. */
const SEEN = [100, 0];
const HIDDEN = [4, 6];

/** The frame with the way of the core (and of another body) across it, with clock times, and the longest shutter by place. PNG bytes. */
export function skyPicture(sky: SkyReading, grid: Grid, mask: Uint8Array): Buffer {
  const letter = grid.width > 700 ? 2 : 1;
  const room = Math.floor((grid.width - 20) / (GLYPH_ADVANCE * letter));
  const lineHeight = (GLYPH_HEIGHT + 4) * letter;
  const key = [
    ...wrap(sky.why ?? sky.core?.says ?? 'NO TIME IN THE FILE', room),
    ...(sky.other === null ? [] : wrap(sky.other.says, room)),
    ...(sky.shutterMap === null
      ? []
      : wrap(
          `NUMBERS ON THE SKY: LONGEST SHUTTER THERE, SECONDS, FOR ${sky.shutterMap.trailPxAllowed.toFixed(1)} PX OF TRAIL`,
          room,
        )),
    'SOLID: SEEN.  DOTTED: HIDDEN.  CROSS: SUBJECT',
  ];
  const sheet = new Sheet(grid.width, grid.height + key.length * lineHeight + 16);
  paintFrame(sheet, grid);
  if (sky.shutterMap !== null) writeShutters(sheet, sky, grid, mask, letter);
  if (sky.subject !== null) {
    const x = sky.subject.x / grid.blockPx;
    const y = (sky.subject.y ?? 0) / grid.blockPx;
    const size = 8 * letter;
    sheet.path(
      [
        { x: x - size, y },
        { x: x + size, y },
      ],
      SEEN,
      1,
    );
    sheet.path(
      [
        { x, y: y - size },
        { x, y: y + size },
      ],
      SEEN,
      1,
    );
  }
  for (const body of [sky.core, sky.other]) if (body !== null) drawTrack(sheet, body, grid, letter);
  key.forEach((line, n) => {
    sheet.text(10, grid.height + 8 + n * lineHeight, line, letter);
  });
  return sheet.bytes();
}

function drawTrack(sheet: Sheet, { body, track }: BodyTrack, grid: Grid, letter: number): void {
  const spots = track.map((point) => ({
    ...point,
    x: point.x === null ? null : point.x / grid.blockPx,
    y: point.y === null ? null : point.y / grid.blockPx,
  }));
  for (let n = 1; n < spots.length; n++) {
    const [from, to] = [spots[n - 1]!, spots[n]!];
    if (from.x === null || from.y === null || to.x === null || to.y === null) continue;
    if (!near(from.x, from.y, grid) || !near(to.x, to.y, grid)) continue;
    const seen = from.seen === 'sky' && to.seen === 'sky';
    sheet.path(
      [
        { x: from.x, y: from.y },
        { x: to.x, y: to.y },
      ],
      seen ? SEEN : HIDDEN,
      seen ? 1 : 0,
    );
  }
  const labels = new LabelPlaces(sheet, grid.height, letter, alongTrack(spots));
  let last: { x: number; y: number } | null = null;
  let named = false;
  for (const { at, x, y, seen } of spots) {
    if (seen !== 'sky' || x === null || y === null || !/:[03]0$/.test(clockOf(at))) continue;
    sheet.spots([{ x, y }], 3);
    if (last !== null && Math.hypot(x - last.x, y - last.y) < GLYPH_ADVANCE * letter * 6) continue;
    const words = named ? clockOf(at) : `${body} ${clockOf(at)}`;
    named = true;
    labels.write(words, (width, height) => [
      { x: x + 8, y: y - height - 6 },
      { x: x + 8, y: y + 8 },
      { x: x - width - 8, y: y - height - 6 },
      { x: x - width - 8, y: y + 8 },
      { x: x - width / 2, y: y - height - 14 },
      { x: x - width / 2, y: y + 16 },
    ]);
    last = { x, y };
  }
}

/** Points along a line from spot to spot, close enough that no label slips between them. */
function alongTrack(
  spots: readonly { readonly x: number | null; readonly y: number | null }[],
): { x: number; y: number }[] {
  return spots.flatMap((from, n) => {
    const to = spots[n + 1];
    if (to === undefined || from.x === null || from.y === null || to.x === null || to.y === null) return [];
    const [x, y, dx, dy] = [from.x, from.y, to.x - from.x, to.y - from.y];
    return Array.from({ length: 10 }, (_, step) => ({ x: x + (dx * step) / 10, y: y + (dy * step) / 10 }));
  });
}

function near(x: number, y: number, { width, height }: Grid): boolean {
  return x > -0.05 * width && x < 1.05 * width && y > -0.05 * height && y < height;
}

/** Every sixth cell of the map in each direction. */
function writeShutters(sheet: Sheet, { shutterMap }: SkyReading, grid: Grid, mask: Uint8Array, letter: number): void {
  const { columns, rows, seconds } = shutterMap!;
  for (let row = 2; row < rows; row += 4)
    for (let column = 2; column < columns; column += 5) {
      const value = seconds[row * columns + column];
      if (value == null) continue;
      const x = ((column + 0.5) * grid.width) / columns;
      const y = ((row + 0.5) * grid.height) / rows;
      if (mask[Math.floor(y) * grid.width + Math.floor(x)] !== REGION.sky) continue;
      sheet.text(x, y, value < 10 ? value.toFixed(1) : value >= 600 ? '600+' : value.toFixed(0), letter);
    }
}

import type { Finding } from '../../model/lesson.js';
import type { Frame } from '../../model/frame.js';
import { REGION, type Box, type Grid } from '../../model/regions.js';
import { linearToSrgb } from '../../physics/encoding.js';
import { Sheet } from './sheet.js';

/** Width of a drawn crop. */
const WIDE = 420;

/** Where a finding without a place of its own is looked at: blocks of its region. */
const REGION_OF: Readonly<Record<Finding['region'], number>> = {
  sky: REGION.sky,
  stars: REGION.sky,
  painted: REGION.painted,
  unlit: REGION.unlit,
  source: REGION.source,
};

/** Hatch of each region that is outlined: dashes that differ without colour. */
const PATTERN: Readonly<Record<Finding['region'], readonly number[]>> = {
  sky: [22, 6],
  stars: [2, 5],
  painted: [100, 0],
  unlit: [10, 5, 2, 5],
  source: [10, 5],
};

/** The part of the frame that a finding is about, enlarged or made smaller, its place outlined and numbered. PNG bytes. */
export function findingPicture(finding: Finding, number: number, grid: Grid, mask: Uint8Array): Buffer {
  const view = viewOf(finding, grid, mask);
  const scale = WIDE / view.width;
  const sheet = new Sheet(WIDE, Math.max(60, Math.round(view.height * scale)));
  for (let y = 0; y < sheet.height; y++)
    for (let x = 0; x < WIDE; x++) {
      const gx = Math.min(grid.width - 1, Math.max(0, Math.floor(view.x + x / scale)));
      const gy = Math.min(grid.height - 1, Math.max(0, Math.floor(view.y + y / scale)));
      const i = gy * grid.width + gx;
      sheet.dot(x, y, [tone(grid.red[i]!), tone(grid.green[i]!), tone(grid.blue[i]!)]);
    }
  const { box } = finding;
  if (box !== null) {
    const pad = 4;
    const left = (box.x / grid.blockPx - view.x) * scale - pad;
    const top = (box.y / grid.blockPx - view.y) * scale - pad;
    const right = ((box.x + box.width) / grid.blockPx - view.x) * scale + pad;
    const bottom = ((box.y + box.height) / grid.blockPx - view.y) * scale + pad;
    sheet.path(
      [
        { x: left, y: top },
        { x: right, y: top },
        { x: right, y: bottom },
        { x: left, y: bottom },
        { x: left, y: top },
      ],
      PATTERN[finding.region],
      1,
    );
  }
  sheet.text(8, 8, String(number), 3);
  return sheet.bytes();
}

function tone(light: number): number {
  return Math.round(255 * linearToSrgb(Math.max(0, Math.min(1, light))));
}

/** A clipped place with room about it; else the whole of the region. In blocks. */
function viewOf({ box, region }: Finding, grid: Grid, mask: Uint8Array): Box {
  const whole = { x: 0, y: 0, width: grid.width, height: grid.height };
  if (box !== null) {
    const side = Math.max(0.22 * grid.width, (1.5 * Math.max(box.width, box.height)) / grid.blockPx);
    const width = Math.min(grid.width, side);
    const height = Math.min(grid.height, side * 0.7);
    const x = (box.x + box.width / 2) / grid.blockPx - width / 2;
    const y = (box.y + box.height / 2) / grid.blockPx - height / 2;
    return {
      x: Math.max(0, Math.min(grid.width - width, x)),
      y: Math.max(0, Math.min(grid.height - height, y)),
      width,
      height,
    };
  }
  let [top, bottom] = [grid.height, 0];
  for (let i = 0; i < mask.length; i++)
    if (mask[i] === REGION_OF[region]) {
      const y = Math.floor(i / grid.width);
      top = Math.min(top, y);
      bottom = Math.max(bottom, y);
    }
  return top >= bottom ? whole : { ...whole, y: top, height: Math.max(0.2 * grid.height, bottom - top + 1) };
}

const STAR_SIDE = 28;
const STAR_SCALE = 4;
const STARS = 6;

/** Some measured stars, pixel by pixel, side by side; each toned to its own brightest pixel. Null without stars. PNG bytes. */
export function starPicture(
  frame: Frame,
  shapes: readonly { readonly x: number; readonly y: number }[],
): Buffer | null {
  const step = Math.max(1, Math.floor(shapes.length / STARS));
  const some = shapes.filter((_, n) => n % step === 0).slice(0, STARS);
  if (some.length < 3) return null;
  const side = STAR_SIDE * STAR_SCALE;
  const sheet = new Sheet(some.length * (side + 6) - 6, side);
  some.forEach((shape, n) => {
    const light = (x: number, y: number, c: number): number => {
      const px = Math.max(0, Math.min(frame.widthPx - 1, Math.round(shape.x) - STAR_SIDE / 2 + x));
      const py = Math.max(0, Math.min(frame.heightPx - 1, Math.round(shape.y) - STAR_SIDE / 2 + y));
      const sample = frame.samples[(py * frame.widthPx + px) * 3 + c]!;
      return frame.samples instanceof Float32Array ? sample : frame.toLinear[c as 0 | 1 | 2][sample]!;
    };
    let most = 1e-6;
    for (let y = 0; y < STAR_SIDE; y++) for (let x = 0; x < STAR_SIDE; x++) most = Math.max(most, light(x, y, 1));
    for (let y = 0; y < side; y++)
      for (let x = 0; x < side; x++) {
        const [gx, gy] = [Math.floor(x / STAR_SCALE), Math.floor(y / STAR_SCALE)];
        const grey = tone(Math.min(1, light(gx, gy, 1) / most));
        sheet.dot(n * (side + 6) + x, y, [grey, grey, grey]);
      }
  });
  return sheet.bytes();
}

import type { Frame } from '../model/frame.js';
import { REGION, type Grid } from '../model/regions.js';
import { LuminanceReader } from '../physics/luminance.js';

/**
 * Carries the block mask to full size. Away from sky edges a block's value is copied; along them each pixel goes to
 * whichever of sky and land nearby it is closer to, in luminance averaged over a plus of five pixels.
 */
export function fineMask(frame: Frame, grid: Grid, mask: Uint8Array): Uint8Array {
  const { widthPx, heightPx } = frame;
  const out = new Uint8Array(widthPx * heightPx);
  copyBlocks(out, frame, grid, mask);
  if (grid.blockPx > 1) refineEdges(out, frame, grid, mask);
  return out;
}

/** What new arrays hold: left untouched, it costs no memory. */
const NEW = 0;

function copyBlocks(out: Uint8Array, frame: Frame, grid: Grid, mask: Uint8Array): void {
  const { widthPx, heightPx } = frame;
  const { blockPx, width, height } = grid;
  for (let by = 0; by < height; by++) {
    const first = by * blockPx * widthPx;
    const row = by * width;
    let blank = true;
    for (let bx = 0, start = 0; bx < width; bx++) {
      if (bx < width - 1 && mask[row + bx] === mask[row + bx + 1]) continue;
      const end = bx === width - 1 ? widthPx : (bx + 1) * blockPx;
      const value = mask[row + bx]!;
      if (value !== NEW) {
        blank = false;
        out.fill(value, first + start, first + end);
      }
      start = end;
    }
    if (blank) continue;
    const last = by === height - 1 ? heightPx : (by + 1) * blockPx;
    for (let y = by * blockPx + 1; y < last; y++) out.copyWithin(y * widthPx, first, first + widthPx);
  }
}

function refineEdges(out: Uint8Array, frame: Frame, grid: Grid, mask: Uint8Array): void {
  const { width, height, blockPx, luminance } = grid;
  const reader = new LuminanceReader(frame);
  const reach = 2;
  const patch = new Float64Array((blockPx + 2) ** 2);
  for (let by = 1; by < height - 1; by++) {
    for (let bx = 1; bx < width - 1; bx++) {
      const i = by * width + bx;
      const own = mask[i]!;
      if (own === REGION.source) continue;
      const isSky = own === REGION.sky;
      if (
        (mask[i - 1] === REGION.sky) === isSky &&
        (mask[i + 1] === REGION.sky) === isSky &&
        (mask[i - width] === REGION.sky) === isSky &&
        (mask[i + width] === REGION.sky) === isSky
      )
        continue;
      let skyLight = 0;
      let skyCount = 0;
      let landLight = 0;
      let landCount = 0;
      let land: number = REGION.unlit;
      for (let y = Math.max(0, by - reach); y <= Math.min(height - 1, by + reach); y++) {
        for (let x = Math.max(0, bx - reach); x <= Math.min(width - 1, bx + reach); x++) {
          const j = y * width + x;
          const value = mask[j]!;
          if (value === REGION.sky) {
            skyLight += luminance[j]!;
            skyCount++;
          } else if (value !== REGION.source) {
            landLight += luminance[j]!;
            landCount++;
            land = value;
          }
        }
      }
      if (skyCount === 0 || landCount === 0) continue;
      if (!isSky) land = own;
      decidePixels(
        out,
        frame,
        reader,
        bx * blockPx,
        by * blockPx,
        blockPx,
        skyLight / skyCount,
        landLight / landCount,
        land,
        patch,
      );
    }
  }
}

function decidePixels(
  out: Uint8Array,
  frame: Frame,
  reader: LuminanceReader,
  x0: number,
  y0: number,
  size: number,
  sky: number,
  land: number,
  landValue: number,
  patch: Float64Array,
): void {
  // Less than a third of a stop between the two tells nothing about one pixel.
  if (Math.abs(Math.log2((sky + 1e-5) / (land + 1e-5))) < 0.33) return;
  const middle = (sky + land) / 2;
  const { widthPx, heightPx } = frame;
  // Luminance of the block and one pixel round it, read once; edges of the frame are repeated.
  const side = size + 2;
  for (let y = 0; y < side; y++) {
    const row = Math.max(0, Math.min(heightPx - 1, y0 + y - 1)) * widthPx;
    for (let x = 0; x < side; x++)
      patch[y * side + x] = reader.at(row + Math.max(0, Math.min(widthPx - 1, x0 + x - 1)));
  }
  for (let y = 0; y < size; y++) {
    for (let x = 0; x < size; x++) {
      const i = (y + 1) * side + x + 1;
      const light = (2 * patch[i]! + patch[i - 1]! + patch[i + 1]! + patch[i - side]! + patch[i + side]!) / 6;
      out[(y0 + y) * widthPx + x0 + x] = light > middle === sky > land ? REGION.sky : landValue;
    }
  }
}

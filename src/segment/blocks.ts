import { boxBlur, connectedBlobs, grow, shrink, type Blob } from '../math/raster.js';
import type { Grid } from '../model/regions.js';
import { strangeness, type Cells } from './cells.js';
import { baseline, type Skyline } from './skyline.js';

/** Sky (1) or foreground (0) of every block of the grid. */
export function classifyBlocks(grid: Grid, cells: Cells, line: Skyline): Uint8Array {
  const odds = blockOdds(grid, cells, line);
  const { width, height } = grid;
  const calm = boxBlur(odds, width, height, 1);
  const sky = new Uint8Array(odds.length);
  for (let i = 0; i < odds.length; i++) sky[i] = 0.5 * odds[i]! + calm[i]! < 0 ? 1 : 0;
  dropSmall(sky, width, height);
  keepReachable(grid, sky, cells, line);
  return sky;
}

/** Log odds for foreground of each block against the sky's surface, with a prior from the skyline. */
function blockOdds(grid: Grid, cells: Cells, line: Skyline): Float32Array {
  const { width, height } = grid;
  const { k } = cells;
  const odds = new Float32Array(width * height);
  const base = baseline(line.rows);
  for (let y = 0; y < height; y++) {
    const cy = Math.max(0, Math.min(cells.height - 1.001, (y + 0.5) / k - 0.5));
    const y0 = Math.min(cells.height - 2, Math.floor(cy));
    const fy = cy - y0;
    for (let x = 0; x < width; x++) {
      const cx = Math.max(0, Math.min(cells.width - 1.001, (x + 0.5) / k - 0.5));
      const x0 = Math.min(cells.width - 2, Math.floor(cx));
      const fx = cx - x0;
      const c = y0 * cells.width + x0;
      const w00 = (1 - fx) * (1 - fy);
      const w10 = fx * (1 - fy);
      const w01 = (1 - fx) * fy;
      const w11 = fx * fy;
      const d = c + cells.width;
      const mix = (plane: Float32Array): number =>
        plane[c]! * w00 + plane[c + 1]! * w10 + plane[d]! * w01 + plane[d + 1]! * w11;
      const i = y * width + x;
      const cellRow = Math.min(cells.height - 1, Math.floor(y / k));
      const column = Math.min(cells.width - 1, Math.floor(x / k));
      odds[i] =
        strangeness(grid, i, cells.floor, mix(line.sky.level), mix(line.sky.redness), mix(line.sky.blueness)) +
        0.25 * Math.max(-4, Math.min(0.5, line.evidence[cellRow * cells.width + column]!)) +
        (line.open[cellRow * cells.width + column] === 1
          ? OPEN_SKY
          : position(y / k, line.rows[column]!, base[column]!));
    }
  }
  return odds;
}

const OPEN_SKY = -0.7;

/** Above the skyline sky is likely; between it and the ground's base line a hole may show sky; below, no. */
function position(row: number, skyline: number, base: number): number {
  const above = skyline - row;
  if (above > 0) return -0.4 - Math.min(1, above * 0.12);
  if (row < base - 1) return Math.min(0.9, 0.3 - above * 0.04);
  return Math.min(5, 0.5 + (row - base + 2) * 0.6);
}

/** Takes floating land and specks of sky away. */
export function dropSmall(sky: Uint8Array, width: number, height: number): void {
  dropFloating(sky, width, height);
  dropSpecks(sky, width, height);
}

/**
 * Land stands on the ground or reaches in from the frame's edge; what floats in the sky is a star, a trail, a cloud or grain.
 * Gaps of a block or two (thin twigs) do not part a thing from its foot.
 */
function dropFloating(sky: Uint8Array, width: number, height: number): void {
  const solid = new Uint8Array(sky.length);
  for (let i = 0; i < solid.length; i++) solid[i] = 1 - sky[i]!;
  const land = grow(solid, width, height, 2);
  const { labels, blobs } = connectedBlobs(land, width, height, 1);
  const floats = blobs.map(
    (blob) =>
      blob.maxY < height - 1 &&
      blob.minY > 0 &&
      blob.minX > 0 &&
      blob.maxX < width - 1 &&
      blob.area < width * height * 0.08,
  );
  const small = blobs.map((blob) => blob.area < width * height * 0.004 && blob.maxY < height * 0.75);
  for (let i = 0; i < labels.length; i++) {
    const label = labels[i]!;
    if (label > 0 && (floats[label - 1]! || small[label - 1]!)) sky[i] = 1;
  }
}

/** Sky specks of a few blocks inside the land are noise. */
function dropSpecks(sky: Uint8Array, width: number, height: number): void {
  const { labels, blobs } = connectedBlobs(sky, width, height, 1);
  for (let i = 0; i < labels.length; i++) if (labels[i]! > 0 && blobs[labels[i]! - 1]!.area < 5) sky[i] = 0;
}

/**
 * The largest sky is the sky; smaller patches of it are holes in what stands before it. What lies under the lowest row of open sky is
 * water that mirrors it, or ground as dark as it; and a small patch below the ground's base line is not sky.
 */
function keepReachable(grid: Grid, sky: Uint8Array, cells: Cells, line: Skyline): void {
  const { width, height } = grid;
  const bottom = lowestOpenRow(sky, width, height);
  if (bottom < height - 1) sky.fill(0, (bottom + 1) * width);
  const { labels, blobs } = connectedBlobs(sky, width, height, 1);
  if (blobs.length === 0) return;
  const main = heaviest(blobs, height);
  const base = baseline(line.rows);
  const keep = blobs.map((blob) => {
    if (blob === main || blob.minY === 0) return true;
    const middleX = Math.min(cells.width - 1, Math.floor(blob.sumX / blob.area / cells.k));
    const middleY = blob.sumY / blob.area;
    return middleY / cells.k < base[middleX]! + 1 || middleY < main.maxY - 0.05 * height;
  });
  for (let i = 0; i < labels.length; i++) if (labels[i]! > 0 && !keep[labels[i]! - 1]!) sky[i] = 0;
}

/** Gaps up to twice this, in blocks, do not join water to the sky. */
const SHORE_GAP = 3;

/** The last row that the sky reaches, without patches that begin only below the main one (water), and with a little grace. */
function lowestOpenRow(sky: Uint8Array, width: number, height: number): number {
  const { blobs } = connectedBlobs(shrink(sky, width, height, SHORE_GAP), width, height, 1);
  if (blobs.length === 0) return height - 1;
  const main = heaviest(blobs, height);
  const open = blobs.filter((blob) => blob.minY < main.maxY - 0.04 * height);
  return Math.min(
    height - 1,
    Math.max(main.maxY, ...open.map((blob) => blob.maxY)) + SHORE_GAP + Math.ceil(0.012 * height),
  );
}

/** Patches of sky that begin under the lowest row of the main one are ground: water, snow or sand. */
export function dropUnderSky(sky: Uint8Array, width: number, height: number): void {
  const { labels, blobs } = connectedBlobs(sky, width, height, 1);
  if (blobs.length < 2) return;
  const main = heaviest(blobs, height);
  for (let i = 0; i < labels.length; i++) if (labels[i]! > 0 && blobs[labels[i]! - 1]!.minY > main.maxY) sky[i] = 0;
}

function heaviest(blobs: readonly Blob[], height: number): Blob {
  return blobs.reduce((best, blob) => (weightOf(blob, height) > weightOf(best, height) ? blob : best));
}

function weightOf(blob: Blob, height: number): number {
  return blob.area * (1.5 - blob.sumY / blob.area / height);
}

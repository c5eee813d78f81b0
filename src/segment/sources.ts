import { connectedBlobs, grow, type Blob } from '../math/raster.js';
import { quantile } from '../math/statistics.js';
import type { Grid, Source } from '../model/regions.js';

/** A source's edge is sharp: just outside, light is at least this far under clipping. Burnt paint has a soft shoulder. */
const RING_STOPS = -1.7;

/** Log odds of a source nowhere higher in a blob. Of 45 lamps and blades in drawn scenes one was under -5, of 1126 burnt leaves and stones over -6 more than half; so is the faintest third of street lamps, which nobody had marked. */
const SURELY_NONE = -5;

/**
 * Burnt rocks, grass and reflections have shapes of their own. A lamp's disc is round: so much of the circle about it is filled, where it is
 * large enough to show a shape (part of the frame). A drawn blade is long and thin, so many times as long as it is thick, and the network is not
 * against it: of blades in drawn scenes none was under -0.5, of 17 burnt surfaces in frames of two other renderers 13 were under -1.5.
 */
const DISC = { filled: 0.6, fromPart: 1.5e-4 };
const STREAK = { part: 0.025, slender: 10, slenderIfSure: 5, sure: 2, least: -1.5 };

export interface FoundSources {
  readonly sources: readonly Source[];
  /** 1 in every block that a source or its flare fills. */
  readonly mask: Uint8Array;
}

/**
 * Finds lamps, blades, headlamps and the Moon: burnt blobs with a sharp edge. In the sky the small round ones are stars and
 * are left alone, and so are streaks that have company of the same direction (star trails). `seen`: a network's log odds of a source in
 * each block; what it is sure is none, burnt leaves or stones, is none.
 */
export function findSources(
  grid: Grid,
  sky: Uint8Array,
  burnt: Uint8Array,
  seen: Float32Array | null = null,
): FoundSources {
  const { width, height, blockPx } = grid;
  if (!burnt.includes(1)) return { sources: [], mask: new Uint8Array(width * height) };
  const { labels, blobs } = connectedBlobs(grow(burnt, width, height, 1), width, height, 1);
  const rings = ringLight(grid, labels, blobs);
  const mask = new Uint8Array(width * height);
  const odds = seen === null ? null : highestIn(seen, labels, blobs.length);
  const oddsOf = (blob: Blob): number => (odds === null ? Infinity : odds[blob.label]!);
  const skyStreaks = blobs.filter((blob) => isLong(blob, grid, STREAK.slenderIfSure) && inSky(blob, sky, width));
  const found: { blob: Blob; kind: Source['kind'] }[] = [];
  blobs.forEach((blob, index) => {
    if (oddsOf(blob) < SURELY_NONE) return;
    if (blob.area > width * height * 0.006 || Math.log2(rings[index]! + 1e-9) > RING_STOPS) return;
    const kind = kindOf(blob, oddsOf(blob), grid, sky, skyStreaks.length);
    if (kind !== null) found.push({ blob, kind });
  });
  keepOneMoon(found);
  const wanted = new Uint8Array(blobs.length + 1);
  for (const { blob } of found) wanted[blob.label] = 1;
  for (let i = 0; i < labels.length; i++) mask[i] = wanted[labels[i]!]!;
  const flare = grow(mask, width, height, 1);
  const sources = found.map(({ blob, kind }) => ({
    kind,
    box: {
      x: blob.minX * blockPx,
      y: blob.minY * blockPx,
      width: (blob.maxX - blob.minX + 1) * blockPx,
      height: (blob.maxY - blob.minY + 1) * blockPx,
    },
    areaPx: blob.area * blockPx * blockPx,
  }));
  return { sources, mask: flare };
}

/** Highest value of a plane in each label. */
function highestIn(plane: Float32Array, labels: Int32Array, count: number): Float32Array {
  const highest = new Float32Array(count + 1).fill(-Infinity);
  for (let i = 0; i < labels.length; i++)
    if (labels[i]! > 0 && plane[i]! > highest[labels[i]!]!) highest[labels[i]!] = plane[i]!;
  return highest;
}

/** There is one Moon: the largest round light in the sky; the others are stars. */
function keepOneMoon(found: { blob: Blob; kind: Source['kind'] }[]): void {
  const moons = found.filter(({ kind }) => kind === 'moon').sort((a, b) => b.blob.area - a.blob.area);
  for (const other of moons.slice(1)) found.splice(found.indexOf(other), 1);
}

function kindOf(blob: Blob, odds: number, grid: Grid, sky: Uint8Array, skyStreaks: number): Source['kind'] | null {
  const { width, height, blockPx } = grid;
  const wide = blob.maxX - blob.minX + 1;
  const high = blob.maxY - blob.minY + 1;
  const long = Math.max(wide, high);
  const across = long * blockPx;
  const up = inSky(blob, sky, width);
  if (isLong(blob, grid, STREAK.slenderIfSure)) {
    const isDrawn = odds >= STREAK.sure || (odds >= STREAK.least && isLong(blob, grid, STREAK.slender));
    return !isDrawn || (up && skyStreaks > 4) ? null : 'streak';
  }
  const isDisc = blob.area > DISC.filled * (Math.PI / 4) * long ** 2;
  if (!up)
    return across >= Math.max(6, 3 * blockPx) && (isDisc || blob.area < DISC.fromPart * width * height) ? 'lamp' : null;
  const round = long < 1.6 * Math.min(wide, high) && blob.area > 0.55 * wide * high;
  return round && across > Math.max(24, grid.width * blockPx * 0.0075) ? 'moon' : null;
}

/** Long enough for a streak, and so many times as long as thick. */
function isLong(blob: Blob, grid: Grid, slender: number): boolean {
  const long = Math.hypot(blob.maxX - blob.minX + 1, blob.maxY - blob.minY + 1);
  return long > grid.width * STREAK.part && blob.area / long < long / slender;
}

function inSky(blob: Blob, sky: Uint8Array, width: number): boolean {
  const y = Math.min(Math.floor(sky.length / width) - 1, blob.maxY + 3);
  const below = sky[y * width + Math.round(blob.sumX / blob.area)]!;
  const left = sky[Math.round(blob.sumY / blob.area) * width + Math.max(0, blob.minX - 3)]!;
  const right = sky[Math.round(blob.sumY / blob.area) * width + Math.min(width - 1, blob.maxX + 3)]!;
  return below + left + right >= 2;
}

/**
 * Linear luminance three blocks out, all round each blob: the 85th percentile, so that burnt paint at the edge of a wall, dark on
 * one side only, is no lamp.
 */
function ringLight(grid: Grid, labels: Int32Array, blobs: readonly Blob[]): number[] {
  const { width, height } = grid;
  return blobs.map((blob) => {
    const ring: number[] = [];
    const pad = 3;
    const [x0, y0, x1, y1] = [blob.minX - pad, blob.minY - pad, blob.maxX + pad, blob.maxY + pad];
    if (blob.area > width * height * 0.006) return 1;
    for (let y = Math.max(0, y0); y <= Math.min(height - 1, y1); y++) {
      for (let x = Math.max(0, x0); x <= Math.min(width - 1, x1); x++) {
        const i = y * width + x;
        if (labels[i] === blob.label || !touches(labels, blob.label, x, y, width, height, pad)) continue;
        ring.push(grid.luminance[i]!);
      }
    }
    return ring.length === 0 ? 1 : quantile(ring, 0.85);
  });
}

/** The blob is exactly `reach` - 1 to `reach` blocks away, along a row or a column. */
function touches(
  labels: Int32Array,
  label: number,
  x: number,
  y: number,
  width: number,
  height: number,
  reach: number,
): boolean {
  const at = (px: number, py: number): boolean =>
    px >= 0 && py >= 0 && px < width && py < height && labels[py * width + px] === label;
  for (const d of [1, 2]) if (at(x - d, y) || at(x + d, y) || at(x, y - d) || at(x, y + d)) return false;
  return at(x - reach, y) || at(x + reach, y) || at(x, y - reach) || at(x, y + reach);
}

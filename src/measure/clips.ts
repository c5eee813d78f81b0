import { connectedBlobs, grow, type Blob } from '../math/raster.js';
import type { Frame } from '../model/frame.js';
import type { ChannelName, Clip, ClipCause } from '../model/reading.js';
import { REGION, type Grid, type Regions } from '../model/regions.js';
import { eachClippedPixel } from './pixels.js';

/** Patches reported one by one, at most; the smaller ones of a cause are then one entry. */
const MOST_PATCHES = 24;

const SKY_CAUSES: readonly ClipCause[] = ['star', 'sky', 'horizon-glow'];

interface Patch {
  /** Of the blob of clipped blocks that it is in. */
  readonly label: number;
  cause: ClipCause;
  areaPx: number;
  red: number;
  green: number;
  blue: number;
  minX: number;
  minY: number;
  maxX: number;
  maxY: number;
}

/** Every clipped place with its cause, largest first. Specks close together are one patch; all burnt stars are one entry. */
export function measureClips(frame: Frame, grid: Grid, regions: Regions): Clip[] {
  const { width, height } = grid;
  const near = Math.max(1, Math.round(width / 160));
  const { burnt } = regions;
  if (!burnt.includes(1)) return [];
  const { labels, blobs } = connectedBlobs(grow(burnt, width, height, near), width, height, 1);
  const patches = collect(frame, grid, regions, labels, blobs);
  const merged = merge(patches);
  const total = frame.widthPx * frame.heightPx;
  return merged
    .filter((patch) => patch.areaPx > 0)
    .sort((a, b) => b.areaPx - a.areaPx)
    .map((patch) => ({
      cause: patch.cause,
      areaPx: patch.areaPx,
      box: { x: patch.minX, y: patch.minY, width: patch.maxX - patch.minX + 1, height: patch.maxY - patch.minY + 1 },
      channels: channelsOf(patch),
      share: Number((patch.areaPx / total).toFixed(6)),
    }));
}

function collect(frame: Frame, grid: Grid, regions: Regions, labels: Int32Array, blobs: readonly Blob[]): Patch[] {
  const patches = new Map<number, Patch>();
  const totals = new Uint32Array(blobs.length + 1);
  let key = -1;
  let patch: Patch | undefined;
  eachClippedPixel(frame, grid, regions, ({ x, y, block, region, red, green, blue }) => {
    const label = labels[block]!;
    const own = label * REGIONS + region;
    if (own !== key || patch === undefined) {
      key = own;
      patch = patches.get(key);
      if (patch === undefined) {
        const cause = causeOf(region, blobs[label - 1]!, grid, regions);
        patch = { label, cause, areaPx: 0, red: 0, green: 0, blue: 0, minX: x, minY: y, maxX: x, maxY: y };
        patches.set(key, patch);
      }
    }
    totals[label]!++;
    patch.areaPx++;
    if (red) patch.red++;
    if (green) patch.green++;
    if (blue) patch.blue++;
    if (x < patch.minX) patch.minX = x;
    if (x > patch.maxX) patch.maxX = x;
    if (y < patch.minY) patch.minY = y;
    if (y > patch.maxY) patch.maxY = y;
  });
  // A rim of sky around a burnt wall is the wall's.
  return [...patches.values()].map((own) =>
    SKY_CAUSES.includes(own.cause) && own.areaPx < 0.4 * totals[own.label]!
      ? { ...own, cause: 'painted-surface' }
      : own,
  );
}

/** REGION values are bytes. */
const REGIONS = 256;

function causeOf(region: number, blob: Blob, grid: Grid, regions: Regions): ClipCause {
  if (region === REGION.source) return sourceCause(blob, grid, regions);
  if (region !== REGION.sky) return 'painted-surface';
  const across = Math.max(blob.maxX - blob.minX, blob.maxY - blob.minY) + 1;
  const skyClipped = blob.area > grid.width * grid.height * 0.002;
  if (!skyClipped && across < grid.width * 0.09) return 'star';
  return blob.maxY > lowestSky(grid, regions, blob) - grid.height * 0.06 ? 'horizon-glow' : 'sky';
}

function sourceCause(blob: Blob, grid: Grid, regions: Regions): ClipCause {
  const x = (blob.sumX / blob.area) * grid.blockPx;
  const y = (blob.sumY / blob.area) * grid.blockPx;
  const near = regions.sources.find(
    ({ box }) =>
      x > box.x - box.width && x < box.x + 2 * box.width && y > box.y - box.height && y < box.y + 2 * box.height,
  );
  return near?.kind === 'moon' ? 'moon' : 'source';
}

/** Last row of sky in the blob's middle column, blocks. */
function lowestSky(grid: Grid, regions: Regions, blob: Blob): number {
  const x = Math.round(blob.sumX / blob.area);
  for (let y = grid.height - 1; y >= 0; y--) if (regions.mask[y * grid.width + x] === REGION.sky) return y;
  return grid.height;
}

/** All stars together; beyond the largest patches the rest of each cause together. */
function merge(patches: readonly Patch[]): Patch[] {
  const sorted = [...patches].sort((a, b) => b.areaPx - a.areaPx);
  const own: Patch[] = [];
  const rest = new Map<ClipCause, Patch>();
  for (const patch of sorted) {
    if (patch.cause !== 'star' && own.length < MOST_PATCHES) {
      own.push(patch);
      continue;
    }
    const sum = rest.get(patch.cause);
    if (sum === undefined) rest.set(patch.cause, { ...patch });
    else {
      sum.areaPx += patch.areaPx;
      sum.red += patch.red;
      sum.green += patch.green;
      sum.blue += patch.blue;
      sum.minX = Math.min(sum.minX, patch.minX);
      sum.minY = Math.min(sum.minY, patch.minY);
      sum.maxX = Math.max(sum.maxX, patch.maxX);
      sum.maxY = Math.max(sum.maxY, patch.maxY);
    }
  }
  return [...own, ...rest.values()];
}

/** Channels that clip in at least a twentieth of the patch. */
function channelsOf(patch: Patch): ChannelName[] {
  const names: ChannelName[] = ['red', 'green', 'blue'];
  return names.filter((name) => patch[name] >= patch.areaPx * 0.05);
}

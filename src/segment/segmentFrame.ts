import { stretched } from '../math/planeReader.js';
import { rowsAround } from '../math/raster.js';
import type { Frame, Warning } from '../model/frame.js';
import { REGION, type Grid, type LandLight, type Regions, type Segmenter } from '../model/regions.js';
import { classifyBlocks } from './blocks.js';
import type { Sight } from './learned/network.js';
import { guidedSky } from './learned/guided.js';
import { findBurnt } from './burnt.js';
import { buildCalmCells, buildCells, type CalmCells } from './cells.js';
import { fineMask } from './fine.js';
import { splitPaint } from './paint.js';
import { findSkyline } from './skyline.js';
import { findSources } from './sources.js';

/** Smallest frame, in blocks of the working grid along its shorter side, that can be split into regions. */
const LEAST_BLOCKS = 24;

/** Sky, painted and unlit foreground of the grid, before sources are taken out. */
export interface Split {
  readonly mask: Uint8Array;
  /** Null where there is too little land to tell. */
  readonly land: LandLight | null;
  readonly confidence: number;
  readonly by: Segmenter;
  readonly warnings: readonly Warning[];
  /** Null where the network has no say. */
  readonly sight: Sight | null;
}

/** What tells sky from ground beside the light itself: the network's view, or sky drawn by hand (1, a value a block). */
export interface Guidance {
  readonly sight?: Sight;
  /** The grid's cells, where they were gathered while the network looked. */
  readonly cells?: CalmCells;
  readonly drawn?: Uint8Array;
}

/** Less sure than this, the network has seen nothing like it, and the method without training is asked instead. */
const NETWORK_SURE = 0.6;

/** A frame too small to split. */
export function isTooSmall(grid: Grid): boolean {
  return Math.min(grid.width, grid.height) < LEAST_BLOCKS;
}

/** Splits the working grid. A frame too small to split is all foreground, and says so. */
export function splitGrid(grid: Grid, guidance: Guidance = {}): Split {
  if (isTooSmall(grid)) {
    return {
      mask: new Uint8Array(grid.width * grid.height).fill(REGION.unlit),
      land: null,
      confidence: 0,
      by: 'classical',
      sight: null,
      warnings: [
        { code: 'too-small', message: 'The picture is too small to tell sky from ground; give the full-size frame.' },
      ],
    };
  }
  const { sky, confidence, by } = skyOf(grid, guidance);
  const mask = unlitUnder(sky);
  const sight = by === 'learned' ? (guidance.sight ?? null) : null;
  const land = splitPaint(grid, mask, blocksOf(sight, 'painted', grid, rowsAround(mask, grid.width, REGION.unlit, 0)));
  return { mask, land, confidence, by, warnings: warningsOf(sky), sight };
}

function skyOf(
  grid: Grid,
  { sight, cells: calm, drawn }: Guidance,
): { sky: Uint8Array; confidence: number; by: Segmenter } {
  if (drawn !== undefined) return { sky: drawn, confidence: 1, by: 'hand' };
  const sure = sight === undefined ? 0 : confidenceOf(sight.sky);
  if (sight !== undefined && sure >= NETWORK_SURE)
    return { sky: guidedSky(grid, calm ?? buildCalmCells(grid), sight), confidence: sure, by: 'learned' };
  const cells = buildCells(grid);
  const line = findSkyline(cells);
  return { sky: classifyBlocks(grid, cells, line), confidence: confidenceOf(line.evidence), by: 'classical' };
}

/** Log odds of each block, in `rows` if they are given. */
function blocksOf(
  sight: Sight | null,
  answer: 'painted' | 'source',
  { width, height }: Grid,
  rows?: { readonly from: number; readonly to: number },
): Float32Array | null {
  return sight === null ? null : stretched(sight[answer], sight, width, height, rows);
}

function unlitUnder(sky: Uint8Array): Uint8Array {
  const mask = new Uint8Array(sky.length).fill(REGION.unlit);
  for (let i = 0; i < mask.length; i++) if (sky[i] === 1) mask[i] = REGION.sky;
  return mask;
}

/** Takes the sources out of the split and carries it to full size. `burnt`: 1 in blocks that hold a clipped sample. */
export function settleRegions(frame: Frame, grid: Grid, split: Split, burnt = findBurnt(frame, grid)): Regions {
  const seen = burnt.includes(1) ? blocksOf(split.sight, 'source', grid) : null;
  const found = findSources(grid, skyIn(split.mask), burnt, seen);
  const mask = split.mask.slice();
  for (let i = found.mask.indexOf(1); i >= 0; i = found.mask.indexOf(1, i + 1)) mask[i] = REGION.source;
  return {
    mask,
    fineMask: fineMask(frame, grid, mask),
    burnt,
    sources: found.sources,
    confidence: split.confidence,
    by: split.by,
    warnings: split.warnings,
  };
}

/** 1 where the mask holds sky. */
function skyIn(mask: Uint8Array): Uint8Array {
  const sky = new Uint8Array(mask.length);
  for (let i = 0; i < sky.length; i++) if (mask[i] === REGION.sky) sky[i] = 1;
  return sky;
}

function warningsOf(sky: Uint8Array): Warning[] {
  let blocks = 0;
  for (let i = 0; i < sky.length; i++) blocks += sky[i]!;
  const share = blocks / sky.length;
  if (share < 0.02)
    return [{ code: 'no-sky', message: 'Next to no sky was found in the frame; levels of the sky are not known.' }];
  if (share > 0.985)
    return [
      {
        code: 'no-foreground',
        message: 'Next to no ground was found in the frame; there is nothing to balance the sky with.',
      },
    ];
  return [];
}

/** Mean of |2p - 1| over the cells, p the probability that their log odds give. */
function confidenceOf(logOdds: Float32Array): number {
  let sum = 0;
  for (const value of logOdds) sum += Math.abs(Math.tanh(value / 2));
  return sum / logOdds.length;
}

import type { Frame, Warning } from '../model/frame.js';
import { REGION, type Grid, type Regions } from '../model/regions.js';
import { classifyBlocks } from './blocks.js';
import { findBurnt } from './burnt.js';
import { buildCells } from './cells.js';
import { fineMask } from './fine.js';
import { splitPaint } from './paint.js';
import { findSkyline } from './skyline.js';
import { findSources } from './sources.js';

/** Smallest frame, in blocks of the working grid along its shorter side, that can be split into regions. */
const LEAST_BLOCKS = 24;

/** Sky, painted and unlit foreground of the grid, before sources are taken out. */
export interface Split {
  readonly mask: Uint8Array;
  readonly confidence: number;
  readonly warnings: readonly Warning[];
}

/** Splits the working grid. A frame too small to split is all foreground, and says so. */
export function splitGrid(grid: Grid): Split {
  if (Math.min(grid.width, grid.height) < LEAST_BLOCKS) {
    return {
      mask: new Uint8Array(grid.width * grid.height).fill(REGION.unlit),
      confidence: 0,
      warnings: [
        { code: 'too-small', message: 'The picture is too small to tell sky from ground; give the full-size frame.' },
      ],
    };
  }
  const cells = buildCells(grid);
  const line = findSkyline(cells);
  const sky = classifyBlocks(grid, cells, line);
  const mask = new Uint8Array(sky.length);
  for (let i = 0; i < mask.length; i++) mask[i] = sky[i] === 1 ? REGION.sky : REGION.unlit;
  splitPaint(grid, mask);
  return { mask, confidence: confidenceOf(line.evidence), warnings: warningsOf(sky) };
}

/** Takes the sources out of the split and carries it to full size. */
export function settleRegions(frame: Frame, grid: Grid, split: Split): Regions {
  const burnt = findBurnt(frame, grid);
  const sky = new Uint8Array(split.mask.length);
  for (let i = 0; i < sky.length; i++) sky[i] = split.mask[i] === REGION.sky ? 1 : 0;
  const found = findSources(grid, sky, burnt);
  const mask = Uint8Array.from(split.mask);
  for (let i = 0; i < mask.length; i++) if (found.mask[i] === 1) mask[i] = REGION.source;
  return {
    mask,
    fineMask: fineMask(frame, grid, mask),
    burnt,
    sources: found.sources,
    confidence: split.confidence,
    warnings: split.warnings,
  };
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

/** Mean of |2p - 1| over the cells, p the probability that the evidence gives. */
function confidenceOf(evidence: Float32Array): number {
  let sum = 0;
  for (const value of evidence) sum += Math.abs(Math.tanh(value / 2));
  return sum / evidence.length;
}

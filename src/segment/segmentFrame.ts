import type { Frame, Warning } from '../model/frame.js';
import { REGION, type Grid, type Regions } from '../model/regions.js';
import { classifyBlocks } from './blocks.js';
import { buildCells } from './cells.js';
import { fineMask } from './fine.js';
import { splitPaint } from './paint.js';
import { findSkyline } from './skyline.js';
import { findSources } from './sources.js';

/** Smallest frame, in blocks of the working grid along its shorter side, that can be split into regions. */
const LEAST_BLOCKS = 24;

/** Sky, painted and unlit foreground, and sources. A frame too small or too even to split is all foreground, and says so. */
export function segmentFrame(frame: Frame, grid: Grid): Regions {
  if (Math.min(grid.width, grid.height) < LEAST_BLOCKS) return nothing(frame, grid);
  const cells = buildCells(grid);
  const line = findSkyline(cells);
  const sky = classifyBlocks(grid, cells, line);
  const found = findSources(grid, sky);
  const mask = new Uint8Array(sky.length);
  let skyBlocks = 0;
  for (let i = 0; i < mask.length; i++) {
    mask[i] = found.mask[i] === 1 ? REGION.source : sky[i] === 1 ? REGION.sky : REGION.unlit;
    skyBlocks += sky[i]!;
  }
  splitPaint(grid, mask);
  const share = skyBlocks / mask.length;
  const warnings: Warning[] = [];
  if (share < 0.02)
    warnings.push({
      code: 'no-sky',
      message: 'Next to no sky was found in the frame; levels of the sky are not known.',
    });
  if (share > 0.985)
    warnings.push({
      code: 'no-foreground',
      message: 'Next to no ground was found in the frame; there is nothing to balance the sky with.',
    });
  return {
    mask,
    fineMask: fineMask(frame, grid, mask),
    sources: found.sources,
    confidence: confidenceOf(line.evidence),
    warnings,
  };
}

/** Mean of |2p - 1| over the cells, p the probability that the evidence gives. */
function confidenceOf(evidence: Float32Array): number {
  let sum = 0;
  for (const value of evidence) sum += Math.abs(Math.tanh(value / 2));
  return sum / evidence.length;
}

function nothing(frame: Frame, grid: Grid): Regions {
  return {
    mask: new Uint8Array(grid.width * grid.height).fill(REGION.unlit),
    fineMask: new Uint8Array(frame.widthPx * frame.heightPx).fill(REGION.unlit),
    sources: [],
    confidence: 0,
    warnings: [
      { code: 'too-small', message: 'The picture is too small to tell sky from ground; give the full-size frame.' },
    ],
  };
}

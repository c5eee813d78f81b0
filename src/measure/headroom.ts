import { quickLog2 } from '../math/quickLog2.js';
import { Histogram } from '../math/statistics.js';
import type { Frame } from '../model/frame.js';
import type { Headroom } from '../model/reading.js';
import { REGION, type Grid, type Regions } from '../model/regions.js';
import { blockStep, sampledPixel } from './pixels.js';

const PER_STOP = 8;
const LOWEST = -14;
/** First bin at or over clipping. */
const CLIP_BIN = -LOWEST * PER_STOP;
/** Quarter stops under clipping that are reported. */
const REPORTED = 40;

interface PaintedPixel {
  readonly light: readonly [number, number, number];
  readonly clipped: readonly [boolean, boolean, boolean];
}

/** Distribution of painted light below clipping, and an estimate of what clipping hides. Null when too little is painted. */
export function measureHeadroom(frame: Frame, grid: Grid, regions: Regions): Headroom | null {
  const [weightR, weightG, weightB] = frame.luminanceWeights;
  const brightest = new Histogram(CLIP_BIN + 1);
  const luminance = new Histogram(CLIP_BIN + 1);
  const burntBlue: number[] = [];
  const colour = { strong: 0, blue: 0, count: 0 };
  eachPainted(frame, grid, regions, ({ light, clipped }) => {
    const burnt = clipped[0] || clipped[1] || clipped[2];
    brightest.add(burnt ? CLIP_BIN : binOf(Math.max(...light)));
    luminance.add(binOf(weightR * light[0] + weightG * light[1] + weightB * light[2]));
    if (burnt && !clipped[2]) burntBlue.push(light[2]);
    else if (!burnt && light[0] > 0.08) {
      colour.strong += Math.max(light[0], light[1]);
      colour.blue += light[2];
      colour.count++;
    }
  });
  if (brightest.total < 40) return null;
  const fraction = brightest.counts[CLIP_BIN]! / brightest.total;
  const over = fraction === 0 ? 0 : overClipping(brightest, fraction, fromHeldChannel(burntBlue, colour));
  const bin = luminance.quantileBin(0.5);
  if (bin === null) return null;
  return {
    fractionAbove: fractionsAbove(brightest),
    clippedMedianOverStops: Number(over.toFixed(2)),
    medianStops: Number((fraction > 0.5 ? over * Math.log2(fraction / 0.5) : bin / PER_STOP + LOWEST).toFixed(2)),
  };
}

function eachPainted(frame: Frame, grid: Grid, regions: Regions, visit: (pixel: PaintedPixel) => void): void {
  const [red, green, blue] = frame.toLinear;
  const { samples, clipSample } = frame;
  const { width, height } = grid;
  const step = blockStep(grid);
  for (let by = 0; by < height; by++) {
    for (let bx = by % step; bx < width; bx += step) {
      const pixel = sampledPixel(frame, grid, bx, by);
      if (regions.fineMask[pixel] !== REGION.painted) continue;
      const at = pixel * 3;
      const [r, g, b] = [samples[at]!, samples[at + 1]!, samples[at + 2]!];
      if (!Number.isFinite(r + g + b)) continue;
      visit({
        light: samples instanceof Float32Array ? [r, g, b] : [red[r]!, green[g]!, blue[b]!],
        clipped: [r >= clipSample, g >= clipSample, b >= clipSample],
      });
    }
  }
}

function binOf(light: number): number {
  if (light <= 0) return 0;
  return Math.max(0, Math.min(CLIP_BIN - 1, Math.floor((quickLog2(light) - LOWEST) * PER_STOP)));
}

/** Where blue still holds, the colour of the unburnt paint tells how far over clipping the burnt channel is (mean, stops). */
function fromHeldChannel(
  burntBlue: readonly number[],
  colour: { strong: number; blue: number; count: number },
): number | null {
  if (burntBlue.length < 20 || colour.count < 20 || colour.blue <= 0) return null;
  const ratio = colour.strong / colour.blue;
  return burntBlue.reduce((sum, blue) => sum + Math.log2(Math.max(1, blue * ratio)), 0) / burntBlue.length;
}

/**
 * Middle of the clipped part, stops over clipping. The last stop under clipping gives the slope of the shoulder; carried on as
 * an exponential tail, survivors fall by the same factor in each stop. A channel that still holds overrules it upwards.
 */
function overClipping(brightest: Histogram, fraction: number, fromColour: number | null): number {
  let lastStop = 0;
  for (let bin = CLIP_BIN - PER_STOP; bin < CLIP_BIN; bin++) lastStop += brightest.counts[bin]!;
  const survivors = fraction / (fraction + Math.max(1e-6, lastStop / brightest.total));
  const fromShoulder = Math.min(2, Math.log(0.5) / Math.log(Math.min(0.9, Math.max(0.02, survivors))));
  return Math.max(0.25, fromColour === null ? fromShoulder : Math.min(2.5, Math.max(fromColour, 0.7 * fromShoulder)));
}

function fractionsAbove(brightest: Histogram): number[] {
  const above: number[] = [];
  let count = brightest.counts[CLIP_BIN]!;
  let bin = CLIP_BIN;
  for (let quarter = 0; quarter <= REPORTED; quarter++) {
    for (const lowest = CLIP_BIN - (quarter * PER_STOP) / 4; bin > lowest;) count += brightest.counts[--bin]!;
    above.push(Number((count / brightest.total).toFixed(5)));
  }
  return above;
}

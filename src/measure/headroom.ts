import { quickLog2 } from '../math/quickLog2.js';
import { Histogram } from '../math/statistics.js';
import type { Frame } from '../model/frame.js';
import type { Headroom } from '../model/reading.js';
import type { PaintSample, PutBack } from './hiddenLight.js';

const PER_STOP = 16;
const LOWEST = -14;
const HIGHEST = 8;
/** First bin at or over clipping. */
const CLIP_BIN = -LOWEST * PER_STOP;
const BINS = (HIGHEST - LOWEST) * PER_STOP;
/** Quarter stops under and over clipping that are reported. */
const UNDER = 40;
const OVER = 20;
const LEAST_PIXELS = 40;

/**
 * Distribution of painted light on both sides of clipping: beyond it as far as it could be put back. `clippedFraction` is counted on every
 * pixel of the paint as stored, the rest on the sample. Null when too little is painted.
 */
export function measureHeadroom(
  frame: Pick<Frame, 'luminanceWeights'>,
  sample: PaintSample,
  { brightest, colour }: PutBack,
  clippedFraction: number,
): Headroom | null {
  if (sample.count < LEAST_PIXELS) return null;
  const [weightR, weightG, weightB] = frame.luminanceWeights;
  const weight = colour === null ? 1 : weightR * colour[0] + weightG * colour[1] + weightB * colour[2];
  const { count, light, clipped } = sample;
  const all = new Histogram(BINS);
  const burnt = new Histogram(BINS);
  const seen = new Histogram(BINS);
  const meant = new Histogram(BINS);
  for (let i = 0; i < count; i++) {
    const luminance = weightR * light[i * 3]! + weightG * light[i * 3 + 1]! + weightB * light[i * 3 + 2]!;
    const isBurnt = clipped[i] !== 0;
    const own = isBurnt ? Math.max(CLIP_BIN, binOf(brightest[i]!)) : Math.min(CLIP_BIN - 1, binOf(brightest[i]!));
    all.add(own);
    if (isBurnt) burnt.add(own);
    seen.add(binOf(luminance));
    meant.add(binOf(isBurnt ? Math.max(luminance, brightest[i]! * weight) : luminance));
  }
  const middle = meant.quantileBin(0.5)!;
  return {
    ...asCounted(
      fractions(
        all,
        Array.from({ length: UNDER + 1 }, (_, quarter) => -quarter / 4),
      ),
      fractions(
        all,
        Array.from({ length: OVER + 1 }, (_, quarter) => quarter / 4),
      ),
      Math.min(1, clippedFraction * sample.clippedOverStored),
    ),
    clippedMedianOverStops: round(Math.max(0, stopsAt(burnt.quantileBin(0.5) ?? CLIP_BIN))),
    medianStops: round(stopsAt(middle)),
    hiddenStops: round((middle - seen.quantileBin(0.5)!) / PER_STOP),
  };
}

function binOf(light: number): number {
  if (light <= 0) return 0;
  return Math.max(0, Math.min(BINS - 1, Math.floor((quickLog2(light) - LOWEST) * PER_STOP)));
}

function stopsAt(bin: number): number {
  return (bin + 0.5) / PER_STOP + LOWEST;
}

/** Part of the pixels whose brightest channel is over each of `levels` (stops, whole bins). */
function fractions({ counts, total }: Histogram, levels: readonly number[]): number[] {
  const above = new Float64Array(BINS + 1);
  for (let bin = BINS - 1; bin >= 0; bin--) above[bin] = above[bin + 1]! + counts[bin]!;
  return levels.map((level) => above[(level - LOWEST) * PER_STOP]! / total);
}

/** The sample's clipped and unclipped parts, brought to the size that counting every pixel gave them. */
function asCounted(
  fractionAbove: readonly number[],
  fractionOver: readonly number[],
  clipped: number,
): Pick<Headroom, 'fractionAbove' | 'fractionOver'> {
  const sampled = fractionAbove[0]!;
  const [over, under] = [clipped / Math.max(1e-9, sampled), (1 - clipped) / Math.max(1e-9, 1 - sampled)];
  const digits = (value: number): number => Number(Math.max(0, Math.min(1, value)).toFixed(5));
  return {
    fractionAbove: fractionAbove.map((own) => digits(clipped + (own - sampled) * under)),
    fractionOver: fractionOver.map((own, quarter) => digits(quarter === 0 ? clipped : own * over)),
  };
}

function round(value: number): number {
  return Number(value.toFixed(2));
}

import { quickLog2 } from '../math/quickLog2.js';
import { Histogram, median } from '../math/statistics.js';
import type { Frame } from '../model/frame.js';
import { PERCENTILES, REGION_NAMES, type Percentile, type RegionLevels, type RegionName } from '../model/reading.js';
import { REGION, type Grid, type Regions } from '../model/regions.js';
import { LuminanceReader } from '../physics/luminance.js';
import { blockSteps, eachClippedPixel, sampledPixel } from './pixels.js';

const LOWEST_STOPS = -16;
const BINS_PER_STOP = 32;
const BINS = (1 - LOWEST_STOPS) * BINS_PER_STOP;

interface Tally {
  readonly pixels: Histogram;
  readonly blocks: Histogram;
  readonly grain: number[];
  counted: number;
  crushed: number;
  any: number;
  red: number;
  green: number;
  blue: number;
  area: number;
}

/**
 * Levels of each region in stops below clipping. `levelStops` is the median of light averaged over blocks (for the sky without the
 * blocks that hold stars); percentiles are of single pixels, one in each sampled block. Clipped fractions count every pixel.
 */
export function measureLevels(
  frame: Frame,
  grid: Grid,
  regions: Regions,
  starBlocks: Uint8Array,
): Record<RegionName, RegionLevels> {
  const tallies = { sky: tally(), foreground: tally(), painted: tally(), unlit: tally() };
  countBlocks(grid, regions, starBlocks, tallies);
  samplePixels(frame, grid, regions, starBlocks, tallies);
  countClipped(frame, grid, regions, tallies);
  const total = frame.widthPx * frame.heightPx;
  return Object.fromEntries(REGION_NAMES.map((name) => [name, summary(tallies[name], total)])) as unknown as Record<
    RegionName,
    RegionLevels
  >;
}

function tally(): Tally {
  return {
    pixels: new Histogram(BINS),
    blocks: new Histogram(BINS),
    grain: [],
    counted: 0,
    crushed: 0,
    any: 0,
    red: 0,
    green: 0,
    blue: 0,
    area: 0,
  };
}

function talliesOf(value: number, tallies: Record<RegionName, Tally>): readonly Tally[] {
  if (value === REGION.sky) return [tallies.sky];
  if (value === REGION.painted) return [tallies.painted, tallies.foreground];
  return value === REGION.unlit ? [tallies.unlit, tallies.foreground] : [];
}

/** Single pixels, one of each sampled block; where the finer mask puts one into another region, its share of the area goes with it. */
function samplePixels(
  frame: Frame,
  grid: Grid,
  regions: Regions,
  starBlocks: Uint8Array,
  tallies: Record<RegionName, Tally>,
): void {
  const reader = new LuminanceReader(frame);
  const { blockPx, width, height } = grid;
  const lists = [REGION.sky, REGION.unlit, REGION.painted, REGION.source].map((value) => talliesOf(value, tallies));
  const listOf = (value: number): readonly Tally[] => lists[Math.round(value / 85)]!;
  const floor = frame.crushedSample;
  const { samples } = frame;
  const { mask } = regions;
  const inBlock = blockPx * blockPx;
  const steps = blockSteps(mask);
  const everyGrain = Math.max(1, Math.floor((width * height) / GRAIN_PAIRS));
  for (let by = 0; by < height; by++) {
    for (let bx = 0; bx < width; bx++) {
      const block = by * width + bx;
      const step = steps[mask[block]!]!;
      const takesGrain = block % everyGrain === 0 && bx > 0 && bx + 1 < width;
      const counts = (bx + by) % step === 0;
      if (!counts && !takesGrain) continue;
      const pixel = sampledPixel(frame, grid, bx, by);
      const light = reader.at(pixel);
      const at = pixel * 3;
      const crushed = samples[at]! <= floor && samples[at + 1]! <= floor && samples[at + 2]! <= floor;
      const value = regions.fineMask[pixel]!;
      const calm = value !== REGION.sky || starBlocks[block] === 0;
      if (counts && value !== mask[block]) {
        for (const own of listOf(mask[block]!)) own.area -= step * inBlock;
        for (const own of listOf(value)) own.area += step * inBlock;
      }
      for (const own of listOf(value)) {
        if (takesGrain && calm) own.grain.push(Math.abs(light - reader.at(pixel + 1)));
        if (!counts) continue;
        own.pixels.add(bin(light), step);
        own.counted += step;
        if (crushed) own.crushed += step;
      }
    }
  }
  for (const own of Object.values(tallies)) own.area = Math.max(0, own.area);
}

/** Light of whole blocks, and the area they cover. */
function countBlocks(
  { luminance, blockPx }: Grid,
  { mask }: Regions,
  starBlocks: Uint8Array,
  tallies: Record<RegionName, Tally>,
): void {
  for (const [value, own] of [
    [REGION.sky, tallies.sky],
    [REGION.painted, tallies.painted],
    [REGION.unlit, tallies.unlit],
  ] as const) {
    let blocks = 0;
    for (let i = 0; i < mask.length; i++) {
      if (mask[i] !== value) continue;
      blocks++;
      if (value !== REGION.sky || starBlocks[i] === 0) own.blocks.add(bin(luminance[i]!));
    }
    own.area = blocks * blockPx * blockPx;
  }
  tallies.foreground.area = tallies.painted.area + tallies.unlit.area;
  tallies.foreground.blocks.addAll(tallies.painted.blocks);
  tallies.foreground.blocks.addAll(tallies.unlit.blocks);
}

/** Pairs of neighbouring pixels that grain is told from, over the whole frame. */
const GRAIN_PAIRS = 5000;

function countClipped(frame: Frame, grid: Grid, regions: Regions, tallies: Record<RegionName, Tally>): void {
  eachClippedPixel(frame, grid, regions, ({ region, red, green, blue }) => {
    for (const own of talliesOf(region, tallies)) {
      own.any++;
      if (red) own.red++;
      if (green) own.green++;
      if (blue) own.blue++;
    }
  });
}

function bin(light: number): number {
  if (light <= 0) return 0;
  return Math.max(0, Math.min(BINS - 1, Math.round((quickLog2(light) - LOWEST_STOPS) * BINS_PER_STOP)));
}

function stopsAt(place: number | null): number | null {
  if (place === null) return null;
  return round2(place / BINS_PER_STOP + LOWEST_STOPS);
}

function summary(own: Tally, total: number): RegionLevels {
  const share = (count: number): number => (own.area === 0 ? 0 : Number(Math.min(1, count / own.area).toFixed(6)));
  const level = stopsAt(own.blocks.quantileBin(0.5) ?? own.pixels.quantileBin(0.5));
  const percentiles = Object.fromEntries(PERCENTILES.map((p) => [p, stopsAt(own.pixels.quantileBin(Number(p) / 100))]));
  return {
    areaFraction: Number((own.area / total).toFixed(4)),
    levelStops: level,
    percentilesStops: percentiles as Record<Percentile, number | null>,
    clipped: { any: share(own.any), red: share(own.red), green: share(own.green), blue: share(own.blue) },
    crushedFraction: own.counted === 0 ? 0 : Number((own.crushed / own.counted).toFixed(4)),
    signalToNoise: signalToNoise(own.grain, level),
  };
}

/** Neighbouring pixels differ by sqrt(2) x sigma; median |difference| = 0.6745 x sqrt(2) x sigma for normal noise. */
function signalToNoise(differences: readonly number[], level: number | null): number | null {
  if (level === null || differences.length < 30) return null;
  const sigma = median(differences) / (0.6745 * Math.SQRT2);
  return sigma <= 0 ? null : Number(Math.min(999, 2 ** level / sigma).toFixed(1));
}

function round2(value: number): number {
  return Math.round(value * 100) / 100;
}

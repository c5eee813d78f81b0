import { Histogram } from '../math/statistics.js';
import type { Frame } from '../model/frame.js';
import { REGION, type Grid, type Regions } from '../model/regions.js';
import { blockSteps, sampledPixel } from './pixels.js';

/** Painted pixels, about one a block: linear R G B interleaved, and which channels are clipped (1 red, 2 green, 4 blue). */
export interface PaintSample {
  readonly count: number;
  readonly light: Float32Array;
  readonly clipped: Uint8Array;
  /** Pixels that were clipped over those whose stored value still says so. */
  readonly clippedOverStored: number;
}

/** R, G and B of the paint over the brightest of them. */
type PaintColour = readonly [number, number, number];

/** The brightest channel of each pixel of a sample, 1 = clipping, with what clipping hides put back. */
export interface PutBack {
  readonly brightest: Float32Array;
  /** Null where too little of the paint is unclipped to tell its colour. */
  readonly colour: PaintColour | null;
  /** Middle of the light where no channel holds, stops over clipping; 0 where there is none. */
  readonly allClippedStops: number;
}

const ALL = 7;

/**
 * A JPEG halves its colour's detail and rounds it (ISO/IEC 10918-1), by which a channel that was clipped falls under the clip point where
 * others hold texture: of clipped pixels of 11 frames of three renderers 75 to 96 % still reached it. Of those from `from` up with so many of
 * the eight around clipped in the same channel, 92 to 100 % were clipped, and 2 to 11 % more that were not.
 */
const SUNK = { from: 232, around: 3 };
/** Fewer stored clipped pixels than this tell no ratio. */
const LEAST_CLIPPED = 20;

/** Stored under the clip point, but clipped before the file was packed. */
function isSunk({ samples, widthPx, clipSample }: Frame, pixel: number, channel: number): boolean {
  const own = samples[pixel * 3 + channel]!;
  if (own < SUNK.from || own >= clipSample) return false;
  let around = 0;
  for (const row of [-widthPx, 0, widthPx])
    for (const column of [-1, 0, 1]) if ((samples[(pixel + row + column) * 3 + channel] ?? 0) >= clipSample) around++;
  return around >= SUNK.around;
}

export function samplePaint(frame: Frame, grid: Grid, regions: Regions): PaintSample {
  const [red, green, blue] = frame.toLinear;
  const { samples, clipSample } = frame;
  const { width, height } = grid;
  const linear = samples instanceof Float32Array;
  const packed = frame.encoding.container === 'jpeg';
  const step = blockSteps(regions.mask)[REGION.painted]!;
  const most = height * Math.ceil(width / step);
  const light = new Float32Array(most * 3);
  const clipped = new Uint8Array(most);
  let count = 0;
  let [burnt, stored] = [0, 0];
  for (let by = 0; by < height; by++) {
    for (let bx = by % step; bx < width; bx += step) {
      if (regions.mask[by * width + bx] !== REGION.painted) continue;
      const pixel = sampledPixel(frame, grid, bx, by);
      if (regions.fineMask[pixel] !== REGION.painted) continue;
      const r = samples[pixel * 3]!;
      const g = samples[pixel * 3 + 1]!;
      const b = samples[pixel * 3 + 2]!;
      if (!Number.isFinite(r + g + b)) continue;
      light[count * 3] = linear ? r : red[r]!;
      light[count * 3 + 1] = linear ? g : green[g]!;
      light[count * 3 + 2] = linear ? b : blue[b]!;
      let own = (r >= clipSample ? 1 : 0) + (g >= clipSample ? 2 : 0) + (b >= clipSample ? 4 : 0);
      if (own !== 0) stored++;
      if (packed) for (let c = 0; c < 3; c++) if (isSunk(frame, pixel, c)) own |= 1 << c;
      if (own !== 0) burnt++;
      clipped[count++] = own;
    }
  }
  return {
    count,
    light: light.subarray(0, count * 3),
    clipped: clipped.subarray(0, count),
    clippedOverStored: stored < LEAST_CLIPPED ? 1 : burnt / stored,
  };
}

/** Light over which paint shows its own colour rather than the ambient light's; the brighter the more so. */
const OWN_COLOUR = [0.5, 0.25, 0.06];
const LEAST_PIXELS = 20;

/** Pairs of channels, red 0, green 1, blue 2. */
const PAIRS = [
  [0, 1],
  [1, 2],
  [0, 2],
] as const;

/**
 * Two channels are compared wherever both hold, so that paint whose red is burnt still tells green from blue; the two pairs that
 * hold in the most pixels give the colour.
 */
function colourOf(sample: PaintSample): PaintColour | null {
  for (const least of OWN_COLOUR) {
    const pairs = PAIRS.map((pair) => comparePair(sample, pair, least))
      .filter(({ pixels }) => pixels >= LEAST_PIXELS)
      .sort((a, b) => b.pixels - a.pixels);
    if (pairs.length < 2) continue;
    const colour: [number, number, number] = [0, 0, 0];
    const [{ one, other, ratio }, next] = [pairs[0]!, pairs[1]!];
    colour[one] = 1;
    colour[other] = ratio;
    const shared = next.one === one || next.one === other;
    if (shared) colour[next.other] = colour[next.one] * next.ratio;
    else colour[next.one] = colour[next.other] / Math.max(1e-3, next.ratio);
    const most = Math.max(...colour);
    return [colour[0] / most, colour[1] / most, colour[2] / most];
  }
  return null;
}

interface Pair {
  readonly one: 0 | 1 | 2;
  readonly other: 0 | 1 | 2;
  readonly pixels: number;
  /** Light of the other channel over that of the first. */
  readonly ratio: number;
}

function comparePair(
  { count, light, clipped }: PaintSample,
  [one, other]: (typeof PAIRS)[number],
  least: number,
): Pair {
  const either = (1 << one) | (1 << other);
  let [first, second, pixels] = [0, 0, 0];
  for (let i = 0; i < count; i++) {
    if ((clipped[i]! & either) !== 0) continue;
    const [a, b] = [light[i * 3 + one]!, light[i * 3 + other]!];
    if (Math.max(light[i * 3]!, light[i * 3 + 1]!, light[i * 3 + 2]!) < least) continue;
    first += a;
    second += b;
    pixels++;
  }
  return { one, other, pixels, ratio: second / Math.max(1e-6, first) };
}

/** A channel this weak in the paint's colour tells nothing about the others. */
export const LEAST_SHARE = 0.15;

/**
 * Where nothing holds, light has a brightest place (a lamp has a least distance): x stops under which a part s of it is over have
 * x = X (1 - s^SHAPE). X is the mean, weighted in stops, of what the hidden share alone tells and of what the slope of the last quarter stop
 * under it tells. Fitted on 282 exposures of 140 scenes of src/scene, each half of them foretelling the other; then drawn out by CAUTION, since
 * on 26 other scenes light ended a quarter stop higher than told in the median, on 12 frames of two other renderers 1.2 stops.
 */
const SHAPE = 0.6;
const SPAN = { least: 0.5, perRootOfShare: 3, shareOverSlope: 2.2, weightOfSlope: 0.3 };
const CAUTION = { always: 1.1, perShare: 0.7 };

/** Bins a stop of the distribution that the tail is carried on from, and its lowest level in stops. */
const PER_STOP = 8;
const LOWEST = -4;
const BINS = 64;

/**
 * Where a channel still holds, the paint's colour tells the brightest one. Where none does, light is at least what would clip the weakest
 * channel, and how much is hidden and the slope under it tell how far it reaches. That light is given to the pixels in the order in which
 * they come.
 */
export function putBack(sample: PaintSample): PutBack {
  const { count, light, clipped } = sample;
  const colour = colourOf(sample);
  const held = (c: 0 | 1 | 2): boolean => colour !== null && colour[c] >= LEAST_SHARE;
  const weakest = colour === null ? 1 : Math.min(...colour.filter((share) => share >= LEAST_SHARE));
  const reach = Math.log2(1 / weakest);
  const brightest = new Float32Array(count);
  const hidden: number[] = [];
  const known = new Histogram(BINS);
  for (let i = 0; i < count; i++) {
    const own = clipped[i]!;
    let [holding, shares, most] = [0, 0, 0];
    for (const c of [0, 1, 2] as const) {
      most = Math.max(most, light[i * 3 + c]!);
      if ((own & (1 << c)) !== 0 || !held(c)) continue;
      holding += light[i * 3 + c]!;
      shares += colour![c];
    }
    if (own === ALL || (own !== 0 && shares === 0)) hidden.push(i);
    else {
      brightest[i] = own === 0 ? most : Math.max(1, holding / shares);
      known.add(Math.max(0, Math.min(BINS - 1, Math.floor((Math.log2(brightest[i]!) - LOWEST) * PER_STOP))));
    }
  }
  let allClippedStops = 0;
  if (hidden.length > 0) {
    const top = Math.round((reach - LOWEST) * PER_STOP);
    const lastQuarter = (known.counts[top - 1] ?? 0) + (known.counts[top - 2] ?? 0);
    const span = spanOf(hidden.length, lastQuarter * 4, count);
    const stopsOver = (survivors: number): number => span * (1 - survivors ** SHAPE);
    allClippedStops = reach + stopsOver(0.5);
    hidden.forEach((i, n) => {
      brightest[i] = 2 ** (reach + stopsOver((n + 0.5) / hidden.length));
    });
  }
  return { brightest, colour, allClippedStops };
}

/** From where nothing holds any more to the brightest light, stops. `perStop` pixels lie in the last stop under it. */
function spanOf(hidden: number, perStop: number, count: number): number {
  const share = hidden / count;
  const byShare = SPAN.least + SPAN.perRootOfShare * Math.sqrt(share);
  const bySlope = Math.max(0.05, Math.min(20, (SPAN.shareOverSlope * hidden) / Math.max(1, perStop)));
  const mean = byShare ** (1 - SPAN.weightOfSlope) * bySlope ** SPAN.weightOfSlope;
  return (CAUTION.always + CAUTION.perShare * share) * mean;
}

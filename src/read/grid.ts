import type { Frame, Samples } from '../model/frame.js';
import type { Grid } from '../model/regions.js';

/** Longest side of the working grid, blocks, for frames that are not large. */
const GRID_LONG_SIDE = 1400;
const LARGE_PIXELS = 9_000_000;
/** Large frames are worked on in blocks of 4 or 8, the scales at which a JPEG can be decoded directly. */
const VERY_LONG_SIDE = 5200;

/** Samples averaged along each side of a block, at most: more would cost time and take away no grain that matters. */
const SAMPLES_PER_SIDE = 4;

/** Side of a block of the working grid, pixels. */
export function blockSize(widthPx: number, heightPx: number): number {
  const long = Math.max(widthPx, heightPx);
  const short = Math.min(widthPx, heightPx);
  return Math.min(short, wishedBlock(widthPx, heightPx, long));
}

function wishedBlock(widthPx: number, heightPx: number, long: number): number {
  if (widthPx * heightPx <= LARGE_PIXELS) return Math.ceil(long / GRID_LONG_SIDE);
  return long < VERY_LONG_SIDE ? 4 : 8 * Math.ceil(long / 11000);
}

/**
 * Averages linear light over square blocks; in large blocks over evenly spaced pixels. Pixels beyond the last whole block
 * belong to the last block's row or column.
 */
export function buildGrid(frame: Frame): Grid {
  const blockPx = blockSize(frame.widthPx, frame.heightPx);
  const width = Math.max(1, Math.floor(frame.widthPx / blockPx));
  const height = Math.max(1, Math.floor(frame.heightPx / blockPx));
  const planes = emptyPlanes(width * height);
  if (frame.samples instanceof Float32Array) sumFloats(frame, frame.samples, blockPx, width, height, planes);
  else sumIntegers(frame, frame.samples, blockPx, width, height, planes);
  return finishGrid(planes, width, height, blockPx, frame);
}

/** A grid from a picture already reduced to one pixel a block (8-bit interleaved R G B). */
export function gridFromReduced(
  samples: Uint8Array,
  width: number,
  height: number,
  blockPx: number,
  toLinear: Frame['toLinear'],
  colours: Colours,
): Grid {
  const planes = emptyPlanes(width * height);
  for (let i = 0; i < width * height; i++) {
    planes.red[i] = toLinear[0][samples[i * 3]!]!;
    planes.green[i] = toLinear[1][samples[i * 3 + 1]!]!;
    planes.blue[i] = toLinear[2][samples[i * 3 + 2]!]!;
  }
  return finishGrid(planes, width, height, blockPx, colours);
}

interface Planes {
  readonly red: Float32Array;
  readonly green: Float32Array;
  readonly blue: Float32Array;
}

function emptyPlanes(length: number): Planes {
  return { red: new Float32Array(length), green: new Float32Array(length), blue: new Float32Array(length) };
}

/** How linear channels make luminance and colour. */
type Colours = Pick<Frame, 'toSrgbPrimaries' | 'luminanceWeights' | 'balance'>;

function finishGrid(planes: Planes, width: number, height: number, blockPx: number, colours: Colours): Grid {
  const m = colours.toSrgbPrimaries;
  const [weightR, weightG, weightB] = colours.luminanceWeights;
  const [gainR, gainG, gainB] = colours.balance;
  const luminance = new Float32Array(width * height);
  const { red, green, blue } = planes;
  for (let i = 0; i < luminance.length; i++) {
    if (m !== null) {
      const r = red[i]!;
      const g = green[i]!;
      const b = blue[i]!;
      red[i] = m[0]! * r + m[1]! * g + m[2]! * b;
      green[i] = m[3]! * r + m[4]! * g + m[5]! * b;
      blue[i] = m[6]! * r + m[7]! * g + m[8]! * b;
    }
    luminance[i] = weightR * red[i]! + weightG * green[i]! + weightB * blue[i]!;
    red[i]! *= gainR;
    green[i]! *= gainG;
    blue[i]! *= gainB;
  }
  return { width, height, blockPx, luminance, ...planes };
}

function sumIntegers(
  frame: Frame,
  samples: Uint8Array | Uint16Array,
  block: number,
  width: number,
  height: number,
  planes: Planes,
): void {
  const [tableR, tableG, tableB] = frame.toLinear;
  const step = Math.max(1, Math.floor(block / SAMPLES_PER_SIDE));
  const perSide = Math.ceil(block / step);
  const norm = 1 / (perSide * perSide);
  const { red, green, blue } = planes;
  for (let by = 0; by < height; by++) {
    const row = by * width;
    for (let dy = 0; dy < block; dy += step) {
      let at = (by * block + dy) * frame.widthPx * 3;
      for (let bx = 0; bx < width; bx++, at += block * 3) {
        let sumR = 0;
        let sumG = 0;
        let sumB = 0;
        const end = at + block * 3;
        for (let j = at; j < end; j += step * 3) {
          const r = samples[j]!;
          const g = samples[j + 1]!;
          const b = samples[j + 2]!;
          sumR += tableR[r]!;
          sumG += tableG[g]!;
          sumB += tableB[b]!;
        }
        const i = row + bx;
        red[i]! += sumR * norm;
        green[i]! += sumG * norm;
        blue[i]! += sumB * norm;
      }
    }
  }
}

function sumFloats(frame: Frame, samples: Samples, block: number, width: number, height: number, planes: Planes): void {
  const norm = 1 / (block * block);
  for (let y = 0; y < height * block; y++) {
    for (let x = 0; x < width * block; x++) {
      const i = Math.floor(y / block) * width + Math.floor(x / block);
      const at = (y * frame.widthPx + x) * 3;
      const [r, g, b] = [finite(samples[at]!), finite(samples[at + 1]!), finite(samples[at + 2]!)];
      planes.red[i]! += r * norm;
      planes.green[i]! += g * norm;
      planes.blue[i]! += b * norm;
    }
  }
}

function finite(value: number): number {
  return Number.isFinite(value) ? Math.max(0, Math.min(1, value)) : 0;
}

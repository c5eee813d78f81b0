import type { Frame, Samples } from '../model/frame.js';
import type { Grid } from '../model/regions.js';
import { LUMINANCE_WEIGHTS } from '../physics/encoding.js';

/** Longest side of the working grid, blocks. */
const GRID_LONG_SIDE = 1300;

/**
 * Averages linear light over square blocks in one pass over the samples. Pixels beyond the last whole block
 * belong to the last block's row or column.
 */
export function buildGrid(frame: Frame): Grid {
  const blockPx = Math.max(1, Math.round(Math.max(frame.widthPx, frame.heightPx) / GRID_LONG_SIDE));
  const width = Math.max(1, Math.floor(frame.widthPx / blockPx));
  const height = Math.max(1, Math.floor(frame.heightPx / blockPx));
  const planes = {
    red: new Float32Array(width * height),
    green: new Float32Array(width * height),
    blue: new Float32Array(width * height),
    peak: new Uint8Array(width * height),
  };
  if (frame.samples instanceof Float32Array) sumFloats(frame, frame.samples, blockPx, width, height, planes);
  else sumIntegers(frame, frame.samples, blockPx, width, height, planes);
  const luminance = new Float32Array(width * height);
  const m = frame.toSrgbPrimaries;
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
    luminance[i] =
      LUMINANCE_WEIGHTS.red * red[i]! + LUMINANCE_WEIGHTS.green * green[i]! + LUMINANCE_WEIGHTS.blue * blue[i]!;
  }
  return { width, height, blockPx, luminance, ...planes };
}

interface Planes {
  red: Float32Array;
  green: Float32Array;
  blue: Float32Array;
  peak: Uint8Array;
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
  const shift = samples instanceof Uint16Array ? 8 : 0;
  const norm = 1 / (block * block);
  for (let by = 0; by < height; by++) {
    const row = by * width;
    for (let dy = 0; dy < block; dy++) {
      let at = (by * block + dy) * frame.widthPx * 3;
      for (let bx = 0; bx < width; bx++) {
        let sumR = 0;
        let sumG = 0;
        let sumB = 0;
        let most = planes.peak[row + bx]! << shift;
        for (let dx = 0; dx < block; dx++, at += 3) {
          const r = samples[at]!;
          const g = samples[at + 1]!;
          const b = samples[at + 2]!;
          sumR += tableR[r]!;
          sumG += tableG[g]!;
          sumB += tableB[b]!;
          if (r > most) most = r;
          if (g > most) most = g;
          if (b > most) most = b;
        }
        planes.red[row + bx]! += sumR * norm;
        planes.green[row + bx]! += sumG * norm;
        planes.blue[row + bx]! += sumB * norm;
        planes.peak[row + bx] = most >> shift;
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
      planes.peak[i] = Math.max(planes.peak[i]!, Math.min(255, Math.round(Math.max(r, g, b) * 255)));
    }
  }
}

function finite(value: number): number {
  return Number.isFinite(value) ? Math.max(0, value) : 0;
}

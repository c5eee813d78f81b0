import { LUMINANCE_WEIGHTS } from './encoding.js';

/** Interleaved R G B samples with their tables to linear light (unused for floating point) and their primaries (null: sRGB's). */
interface StoredPicture {
  readonly samples: Uint8Array | Uint16Array | Float32Array;
  readonly toLinear: readonly [Float32Array, Float32Array, Float32Array];
  readonly toSrgbPrimaries: readonly number[] | null;
}

/** A function from pixel index to linear luminance (1 = clipping), carried to sRGB primaries. */
export function luminanceReader(picture: StoredPicture): (pixel: number) => number {
  const { samples } = picture;
  const [red, green, blue] = picture.toLinear;
  const m = picture.toSrgbPrimaries;
  const w = LUMINANCE_WEIGHTS;
  // Row of weights carried through the matrix: Y = w . (M rgb) = (w M) . rgb.
  const wr = m === null ? w.red : w.red * m[0]! + w.green * m[3]! + w.blue * m[6]!;
  const wg = m === null ? w.green : w.red * m[1]! + w.green * m[4]! + w.blue * m[7]!;
  const wb = m === null ? w.blue : w.red * m[2]! + w.green * m[5]! + w.blue * m[8]!;
  if (samples instanceof Float32Array)
    return (pixel) => {
      const value = wr * samples[pixel * 3]! + wg * samples[pixel * 3 + 1]! + wb * samples[pixel * 3 + 2]!;
      return Number.isFinite(value) ? Math.max(0, Math.min(1, value)) : 0;
    };
  return (pixel) => {
    const at = pixel * 3;
    return wr * red[samples[at]!]! + wg * green[samples[at + 1]!]! + wb * blue[samples[at + 2]!]!;
  };
}

/** Interleaved R G B samples with their tables to linear light (unused for floating point) and their primaries (null: sRGB's). */
interface StoredPicture {
  readonly samples: Uint8Array | Uint16Array | Float32Array;
  readonly toLinear: readonly [Float32Array, Float32Array, Float32Array];
  readonly toSrgbPrimaries: readonly number[] | null;
  readonly luminanceWeights: readonly [number, number, number];
}

/** A function from pixel index to linear luminance (1 = clipping), carried to sRGB primaries. */
export function luminanceReader(picture: StoredPicture): (pixel: number) => number {
  const { samples } = picture;
  const [red, green, blue] = picture.toLinear;
  const m = picture.toSrgbPrimaries;
  const [r, g, b] = picture.luminanceWeights;
  // Row of weights carried through the matrix: Y = w . (M rgb) = (w M) . rgb.
  const wr = m === null ? r : r * m[0]! + g * m[3]! + b * m[6]!;
  const wg = m === null ? g : r * m[1]! + g * m[4]! + b * m[7]!;
  const wb = m === null ? b : r * m[2]! + g * m[5]! + b * m[8]!;
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

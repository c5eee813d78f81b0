/** Interleaved R G B samples with their tables to linear light (unused for floating point) and their primaries (null: sRGB's). */
interface StoredPicture {
  readonly samples: Uint8Array | Uint16Array | Float32Array;
  readonly toLinear: readonly [Float32Array, Float32Array, Float32Array];
  readonly toSrgbPrimaries: readonly number[] | null;
  readonly luminanceWeights: readonly [number, number, number];
}

/**
 * Linear luminance of single pixels (1 = clipping), carried to sRGB primaries. A class, not a function made anew for each frame: what is compiled
 * for it serves the next frame too.
 */
export class LuminanceReader {
  readonly #samples: StoredPicture['samples'];
  readonly #tables: StoredPicture['toLinear'];
  readonly #floats: boolean;
  readonly #red: number;
  readonly #green: number;
  readonly #blue: number;

  constructor(picture: StoredPicture) {
    const m = picture.toSrgbPrimaries;
    const [r, g, b] = picture.luminanceWeights;
    this.#samples = picture.samples;
    this.#tables = picture.toLinear;
    this.#floats = picture.samples instanceof Float32Array;
    // Row of weights carried through the matrix: Y = w . (M rgb) = (w M) . rgb.
    this.#red = m === null ? r : r * m[0]! + g * m[3]! + b * m[6]!;
    this.#green = m === null ? g : r * m[1]! + g * m[4]! + b * m[7]!;
    this.#blue = m === null ? b : r * m[2]! + g * m[5]! + b * m[8]!;
  }

  at(pixel: number): number {
    const samples = this.#samples;
    const i = pixel * 3;
    if (this.#floats) {
      const value = this.#red * samples[i]! + this.#green * samples[i + 1]! + this.#blue * samples[i + 2]!;
      return Number.isFinite(value) ? Math.max(0, Math.min(1, value)) : 0;
    }
    const [red, green, blue] = this.#tables;
    return this.#red * red[samples[i]!]! + this.#green * green[samples[i + 1]!]! + this.#blue * blue[samples[i + 2]!]!;
  }
}

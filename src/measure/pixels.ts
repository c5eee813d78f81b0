import type { Frame } from '../model/frame.js';
import { LUMINANCE_WEIGHTS } from '../physics/encoding.js';

/** A function from pixel index to linear luminance (1 = clipping). The file's own primaries when they are not sRGB's. */
export function luminanceReader(frame: Frame): (pixel: number) => number {
  const { samples } = frame;
  const [red, green, blue] = frame.toLinear;
  const m = frame.toSrgbPrimaries;
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

import { smooth } from './raster.js';

/**
 * Smooth surfaces through the pixels with weight > 0 (normalised convolution), one for each plane. Where no such pixel is in reach, the
 * value comes from three times the reach, and so on; the wider surfaces are worked out on planes shrunk by three.
 */
export function fillSmooth(
  planes: readonly Float32Array[],
  weight: Float32Array,
  width: number,
  height: number,
  radius: number,
): Float32Array[] {
  const bottom = smooth(weight, width, height, radius);
  let poor = false;
  for (let i = 0; i < bottom.length && !poor; i++) poor = bottom[i]! < ENOUGH;
  const wider = poor && radius < Math.max(width, height) ? widerSurfaces(planes, weight, width, height, radius) : null;
  const weighted = new Float32Array(weight.length);
  return planes.map((plane, n) => {
    for (let i = 0; i < plane.length; i++) weighted[i] = plane[i]! * weight[i]!;
    const out = smooth(weighted, width, height, radius);
    return wider === null ? overSupport(out, bottom) : blendIn(out, bottom, wider(n), width, height);
  });
}

/** Support under which the wider surface takes over. */
const ENOUGH = 0.02;

function overSupport(out: Float32Array, bottom: Float32Array): Float32Array {
  for (let i = 0; i < out.length; i++) out[i] = bottom[i]! > 1e-6 ? out[i]! / bottom[i]! : 0;
  return out;
}

function blendIn(
  out: Float32Array,
  bottom: Float32Array,
  wider: (x: number, y: number) => number,
  width: number,
  height: number,
): Float32Array {
  for (let y = 0, i = 0; y < height; y++) {
    for (let x = 0; x < width; x++, i++) {
      const support = Math.max(0, bottom[i]!);
      const own = support > 1e-6 ? out[i]! / support : 0;
      const share = support / ENOUGH;
      out[i] = share >= 1 ? own : own * share + wider(x, y) * (1 - share);
    }
  }
  return out;
}

/** The surfaces on planes shrunk by three, to be read at full-size places (bilinear). */
function widerSurfaces(
  planes: readonly Float32Array[],
  weight: Float32Array,
  width: number,
  height: number,
  radius: number,
): (n: number) => (x: number, y: number) => number {
  const small = shrinkByThree(planes, weight, width, height);
  const surfaces = fillSmooth(small.planes, small.weight, small.width, small.height, radius);
  return (n) => (x, y) => {
    const sx = Math.max(0, Math.min(small.width - 1, (x - 1) / 3));
    const sy = Math.max(0, Math.min(small.height - 1, (y - 1) / 3));
    const x0 = Math.floor(sx);
    const y0 = Math.floor(sy);
    const right = x0 + 1 < small.width ? 1 : 0;
    const down = y0 + 1 < small.height ? small.width : 0;
    const i = y0 * small.width + x0;
    const plane = surfaces[n]!;
    const top = plane[i]! + (plane[i + right]! - plane[i]!) * (sx - x0);
    const low = plane[i + down]! + (plane[i + down + right]! - plane[i + down]!) * (sx - x0);
    return top + (low - top) * (sy - y0);
  };
}

/** Weighted means over squares of three by three, and their mean weight. */
function shrinkByThree(
  planes: readonly Float32Array[],
  weight: Float32Array,
  width: number,
  height: number,
): { planes: Float32Array[]; weight: Float32Array; width: number; height: number } {
  const w = Math.ceil(width / 3);
  const h = Math.ceil(height / 3);
  const sums = planes.map(() => new Float32Array(w * h));
  const weights = new Float32Array(w * h);
  for (let y = 0; y < height; y++) {
    const row = Math.floor(y / 3) * w;
    for (let x = 0; x < width; x++) {
      const i = y * width + x;
      const own = weight[i]!;
      if (own === 0) continue;
      const j = row + Math.floor(x / 3);
      weights[j]! += own;
      for (let n = 0; n < sums.length; n++) sums[n]![j]! += own * planes[n]![i]!;
    }
  }
  for (let j = 0; j < weights.length; j++) {
    if (weights[j]! > 0) for (const sum of sums) sum[j]! /= weights[j]!;
    weights[j]! /= 9;
  }
  return { planes: sums, weight: weights, width: w, height: h };
}

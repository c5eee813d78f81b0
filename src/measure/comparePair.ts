import type { CurveBin } from '../calibration/cameraCurve.js';
import { curveTables, LEAST_ERROR_STOPS, type CurveRecord } from '../calibration/cameraCurve.js';
import { quickLog2 } from '../math/quickLog2.js';
import { median, robustSpread } from '../math/statistics.js';
import type { Frame } from '../model/frame.js';
import type { Pair } from '../model/reading.js';

/** Side of the patches that are compared, pixels of the raw frame: grain is averaged, the picture hardly. */
const PATCH = 8;

/** A patch whose JPEG codes spread more than this (of 255) is no flat one: a curve of a mean is not the mean of a curve. */
const MOST_SPREAD = 9;

/** A worse fit is no better than the guess of sRGB, or the JPEG is of another shot: it is not kept. */
const MOST_ERROR_STOPS = 0.3;

/** Raw light under this drowns in read noise. */
const LEAST_LIGHT = 2 ** -13;

interface Patch {
  readonly light: readonly [number, number, number];
  readonly codes: readonly [number, number, number];
}

/**
 * What the JPEG of a pair shows beside its raw frame: how much of its clipping the raw file still holds, and the camera's display curve
 * (null when too little of it is to be seen). Both frames upright; the JPEG may be cropped evenly or reduced.
 */
export function comparePair(
  raw: Frame,
  jpeg: Frame,
  key: string | null,
  mark: string,
): { pair: Pair; curve: CurveRecord | null } {
  const place = placing(raw, jpeg);
  const { clipped, held, looked } = countClipped(raw, jpeg, place);
  const curve = key === null || !(jpeg.samples instanceof Uint8Array) ? null : fitCurve(raw, jpeg, place, key, mark);
  return {
    pair: {
      file: jpeg.file.split(/[\\/]/).pop() ?? jpeg.file,
      clippedFraction: looked === 0 ? 0 : Number((clipped / looked).toFixed(6)),
      recoverable: clipped === 0 ? null : Number((held / clipped).toFixed(4)),
      curveErrorStops: curve === null ? null : Number(curve.errorStops.toFixed(3)),
    },
    curve,
  };
}

/** Upright raw pixel under a JPEG pixel: x = scale X + shift. A few percent less are an even crop, more are a reduction. */
interface Placing {
  readonly scale: number;
  readonly shiftX: number;
  readonly shiftY: number;
}

function placing(raw: Frame, jpeg: Frame): Placing {
  const ratio = raw.widthPx / jpeg.widthPx;
  const scale = ratio > 0.96 && ratio < 1.06 ? 1 : ratio;
  return {
    scale,
    shiftX: (raw.widthPx - jpeg.widthPx * scale) / 2,
    shiftY: (raw.heightPx - jpeg.heightPx * scale) / 2,
  };
}

function countClipped(
  raw: Frame,
  jpeg: Frame,
  { scale, shiftX, shiftY }: Placing,
): { clipped: number; held: number; looked: number } {
  let clipped = 0;
  let held = 0;
  let looked = 0;
  const over = (frame: Frame, pixel: number): boolean =>
    frame.samples[pixel * 3]! >= frame.clipSample ||
    frame.samples[pixel * 3 + 1]! >= frame.clipSample ||
    frame.samples[pixel * 3 + 2]! >= frame.clipSample;
  for (let y = 0; y < jpeg.heightPx; y += 2) {
    const rawY = Math.round(y * scale + shiftY);
    if (rawY < 0 || rawY >= raw.heightPx) continue;
    for (let x = (y >> 1) & 1; x < jpeg.widthPx; x += 2) {
      looked++;
      if (!over(jpeg, y * jpeg.widthPx + x)) continue;
      clipped++;
      const rawX = Math.max(0, Math.min(raw.widthPx - 1, Math.round(x * scale + shiftX)));
      if (!over(raw, rawY * raw.widthPx + rawX)) held++;
    }
  }
  return { clipped, held, looked };
}

function fitCurve(raw: Frame, jpeg: Frame, place: Placing, key: string, mark: string): CurveRecord | null {
  const patches = flatPatches(raw, jpeg, place);
  const channels = [0, 1, 2].map((c) => binsOf(patches, c));
  const record: CurveRecord = { key, channels, errorStops: 0.1, frames: [mark] };
  const tables = curveTables(record);
  if (tables === null) return null;
  const errors = [0, 1, 2].map((c) => {
    const misses = patches
      .filter(({ light, codes }) => codes[c]! >= 6 && codes[c]! <= 250 && light[c]! > LEAST_LIGHT)
      .map(
        ({ light, codes }) => quickLog2(Math.max(LEAST_LIGHT, between(tables[c]!, codes[c]!))) - quickLog2(light[c]!),
      );
    return misses.length < 100 ? Number.POSITIVE_INFINITY : Math.hypot(robustSpread(misses), median(misses));
  });
  const errorStops = Math.max(...errors);
  if (errorStops > MOST_ERROR_STOPS) return null;
  return { ...record, errorStops: Math.max(LEAST_ERROR_STOPS, Number(errorStops.toFixed(3))) };
}

function between(table: Float32Array, code: number): number {
  const low = Math.min(254, Math.floor(code));
  return table[low]! + (table[low + 1]! - table[low]!) * (code - low);
}

function flatPatches(raw: Frame, jpeg: Frame, place: Placing): Patch[] {
  const patches: Patch[] = [];
  const side = Math.max(2, Math.floor(PATCH / place.scale));
  for (let y = 0; y + side < jpeg.heightPx; y += side)
    for (let x = 0; x + side < jpeg.widthPx; x += side) {
      const patch = patchAt(raw, jpeg, place, x, y, side);
      if (patch !== null) patches.push(patch);
    }
  return patches;
}

function patchAt(raw: Frame, jpeg: Frame, place: Placing, x: number, y: number, side: number): Patch | null {
  const codes: [number, number, number] = [0, 0, 0];
  let squares = 0;
  for (let dy = 0; dy < side; dy++)
    for (let dx = 0; dx < side; dx++) {
      const at = ((y + dy) * jpeg.widthPx + x + dx) * 3;
      for (let c = 0; c < 3; c++) codes[c]! += jpeg.samples[at + c]!;
      squares += jpeg.samples[at + 1]! ** 2;
    }
  const count = side * side;
  for (let c = 0; c < 3; c++) codes[c]! /= count;
  if (squares / count - codes[1] ** 2 > MOST_SPREAD ** 2) return null;
  const x0 = Math.round(x * place.scale + place.shiftX);
  const y0 = Math.round(y * place.scale + place.shiftY);
  const reach = Math.max(2, Math.round(side * place.scale));
  if (x0 < 0 || y0 < 0 || x0 + reach > raw.widthPx || y0 + reach > raw.heightPx) return null;
  const light: [number, number, number] = [0, 0, 0];
  for (let dy = 0; dy < reach; dy++)
    for (let dx = 0; dx < reach; dx++) {
      const at = ((y0 + dy) * raw.widthPx + x0 + dx) * 3;
      for (let c = 0; c < 3; c++) {
        const sample = raw.samples[at + c]!;
        if (sample >= raw.clipSample) return null;
        light[c]! += raw.toLinear[c]![sample]!;
      }
    }
  for (let c = 0; c < 3; c++) light[c] = (light[c]! / (reach * reach)) * raw.balance[c]!;
  return { light, codes };
}

/** Patches by code value, their median light. */
function binsOf(patches: readonly Patch[], channel: number): CurveBin[] {
  const lists = new Map<number, number[]>();
  for (const { light, codes } of patches) {
    if (light[channel]! < LEAST_LIGHT) continue;
    const code = Math.round(codes[channel]!);
    const list = lists.get(code) ?? [];
    list.push(quickLog2(light[channel]!));
    lists.set(code, list);
  }
  return [...lists]
    .filter(([, list]) => list.length >= 4)
    .map(([code, list]) => ({ code, stops: Number(median(list).toFixed(4)), weight: list.length }))
    .sort((a, b) => a.code - b.code);
}

import type { Encoding } from '../model/frame.js';
import { srgbToLinear } from '../physics/encoding.js';

/** What pairs of raw and JPEG have shown of one camera's display curve in one picture mode. */
export interface CurveRecord {
  /** Camera, firmware and picture mode, as the JPEG's Exif has them. */
  readonly key: string;
  /** Red, green and blue: by code value 0 to 255, mean log2 of linear light (1 = sensor saturated) and its weight. */
  readonly channels: readonly (readonly CurveBin[])[];
  /** One standard deviation of light read through the curve, stops. */
  readonly errorStops: number;
  /** Marks of the frames that were counted, so that none counts twice. */
  readonly frames: readonly string[];
  /**
   * Its slope is told but not its height, or its bright part but not its dark one: it serves until a better one is found, and is not kept
   * for the camera.
   */
  readonly partlyGuessed?: true;
}

/** What keys begin with where the Exif data name no camera. */
export const UNNAMED_CAMERA = '(no name)';

/** A curve of a camera without a name may be any camera's tomorrow. */
export function isOfNamedCamera(key: string): boolean {
  return !key.startsWith(UNNAMED_CAMERA);
}

/** A curve with a larger error is partly guessed. */
const GUESSED_OVER_STOPS = 0.25;

/** A JPEG that was read by sRGB for want of better, or by a curve that is partly guessed. */
export function isCurveUnknown({ container, response, levelUncertaintyStops }: Encoding): boolean {
  const guessed = response === 'camera' && levelUncertaintyStops > GUESSED_OVER_STOPS;
  return container === 'jpeg' && (response === 'srgb' || guessed);
}

export interface CurveBin {
  readonly code: number;
  readonly stops: number;
  readonly weight: number;
}

/** However well one pair fits, another scene's colours and grain are read no better than this, stops. */
export const LEAST_ERROR_STOPS = 0.1;

/** Codes seen, at least, before a curve is worth more than the guess of sRGB. */
const LEAST_BINS = 24;

/** A bin's weight is held here, so that old frames do not outweigh new ones for ever. */
const MOST_WEIGHT = 20_000;
const MOST_FRAMES = 2000;

/** What is known with the fresh records added in their order; one whose frames were all counted before changes nothing. */
export function withRecords(
  known: ReadonlyMap<string, CurveRecord>,
  fresh: readonly CurveRecord[],
): Map<string, CurveRecord> {
  const all = new Map(known);
  for (const record of fresh) {
    const older = all.get(record.key);
    if (older === undefined || (older.partlyGuessed && !record.partlyGuessed)) {
      all.delete(record.key);
      all.set(record.key, record);
      continue;
    }
    if (record.partlyGuessed || record.frames.every((frame) => older.frames.includes(frame))) continue;
    all.delete(record.key);
    all.set(record.key, merged(older, record));
  }
  return all;
}

function merged(older: CurveRecord, newer: CurveRecord): CurveRecord {
  const channels = newer.channels.map((bins, c) => {
    const byCode = new Map((older.channels[c] ?? []).map((bin) => [bin.code, bin]));
    for (const bin of bins) {
      const known = byCode.get(bin.code);
      const weight = bin.weight + (known?.weight ?? 0);
      const stops = known === undefined ? bin.stops : (known.stops * known.weight + bin.stops * bin.weight) / weight;
      byCode.set(bin.code, { code: bin.code, stops: Number(stops.toFixed(4)), weight: Math.min(MOST_WEIGHT, weight) });
    }
    return [...byCode.values()].sort((a, b) => a.code - b.code);
  });
  return {
    key: newer.key,
    channels,
    errorStops: Math.max(older.errorStops, newer.errorStops) * 0.7 + Math.min(older.errorStops, newer.errorStops) * 0.3,
    frames: [...older.frames, ...newer.frames].slice(-MOST_FRAMES),
  };
}

/** Tables from code value to linear light, one a channel; null when too little of the curve is known. */
export function curveTables(record: CurveRecord): [Float32Array, Float32Array, Float32Array] | null {
  const tables = record.channels.map((bins) => tableOf(bins));
  const [red, green, blue] = tables;
  return red && green && blue ? [red, green, blue] : null;
}

/**
 * Monotone least squares (pool adjacent violators; Barlow et al. 1972, from memory) over the bins in log light. Between bins, and below
 * the darkest, the curve keeps sRGB's shape: its distance from sRGB in stops goes straight from bin to bin. It ends at white = saturated.
 */
function tableOf(bins: readonly CurveBin[]): Float32Array | null {
  const usable = bins.filter(({ code, weight }) => code >= 2 && code <= 252 && weight > 0);
  if (usable.length < LEAST_BINS) return null;
  const points = monotone(usable).map(({ code, stops }) => ({ code, over: stops - displayStops(code) }));
  const last = usable[usable.length - 1]!;
  points.push({ code: 255, over: Math.max(0, last.stops) });
  const table = new Float32Array(256);
  let n = 0;
  for (let code = 1; code < 256; code++) {
    while (n + 1 < points.length - 1 && points[n + 1]!.code < code) n++;
    const [a, b] = [points[n]!, points[n + 1]!];
    const part = Math.max(0, Math.min(1, (code - a.code) / (b.code - a.code)));
    table[code] = Math.max(table[code - 1]!, 2 ** (displayStops(code) + a.over + (b.over - a.over) * part));
  }
  return table;
}

/** Light of a code value by the sRGB curve, stops from white. */
function displayStops(code: number): number {
  return Math.log2(srgbToLinear(code / 255));
}

function monotone(bins: readonly CurveBin[]): { code: number; stops: number }[] {
  const blocks: { codes: number[]; sum: number; weight: number }[] = [];
  for (const { code, stops, weight } of bins) {
    blocks.push({ codes: [code], sum: stops * weight, weight });
    for (let last = blocks.length - 1; last > 0; last--) {
      const [low, high] = [blocks[last - 1]!, blocks[last]!];
      if (low.sum / low.weight <= high.sum / high.weight) break;
      blocks.splice(last - 1, 2, {
        codes: [...low.codes, ...high.codes],
        sum: low.sum + high.sum,
        weight: low.weight + high.weight,
      });
    }
  }
  // A pooled block stands at its middle code: its members would make steps.
  return blocks.map(({ codes, sum, weight }) => ({
    code: codes.reduce((total, code) => total + code, 0) / codes.length,
    stops: sum / weight,
  }));
}

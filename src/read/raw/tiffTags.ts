/** Numeric fields of one TIFF directory (TIFF 6.0, section 2): tag number to values. */
export type Directory = ReadonlyMap<number, readonly number[]>;

/** Tag numbers: TIFF 6.0, TIFF/EP (ISO 12234-2), DNG 1.7.1. */
export const RAW_TAG = {
  subfileType: 254,
  width: 256,
  height: 257,
  compression: 259,
  photometric: 262,
  stripOffsets: 273,
  samplesPerPixel: 277,
  stripByteCounts: 279,
  tileOffsets: 324,
  tileByteCounts: 325,
  subDirectories: 330,
  cfaRepeatDim: 33421,
  cfaPattern: 33422,
  dngVersion: 50706,
  blackRepeatDim: 50713,
  blackLevel: 50714,
  blackDeltaH: 50715,
  blackDeltaV: 50716,
  whiteLevel: 50717,
  asShotNeutral: 50728,
} as const;

/** PhotometricInterpretation of a colour filter mosaic, and of interpolated linear light. */
export const CFA = 32803;
export const LINEAR_RAW = 34892;

const BYTES_OF_TYPE = [0, 1, 1, 2, 4, 8, 1, 1, 2, 4, 8, 4, 8];
const MOST_DIRECTORIES = 24;
const MOST_VALUES = 20_000;

/** Directories of the file and those below them (SubIFDs). Damaged ones are left out; an empty list for what is no TIFF. */
export function tiffDirectories(bytes: Uint8Array): Directory[] {
  const order = String.fromCharCode(bytes[0] ?? 0, bytes[1] ?? 0);
  if (bytes.length < 8 || (order !== 'II' && order !== 'MM')) return [];
  const little = order === 'II';
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  const found: Directory[] = [];
  const waiting = [view.getUint32(4, little)];
  const seen = new Set<number>();
  while (waiting.length > 0 && found.length < MOST_DIRECTORIES) {
    const at = waiting.shift()!;
    if (at < 8 || at + 6 > bytes.length || seen.has(at)) continue;
    seen.add(at);
    const { directory, next } = readDirectory(view, at, little);
    found.push(directory);
    waiting.push(...(directory.get(RAW_TAG.subDirectories) ?? []), next);
  }
  return found;
}

function readDirectory(view: DataView, start: number, little: boolean): { directory: Directory; next: number } {
  const directory = new Map<number, number[]>();
  const entries = view.getUint16(start, little);
  for (let n = 0; n < entries; n++) {
    const at = start + 2 + n * 12;
    if (at + 12 > view.byteLength) return { directory, next: 0 };
    const type = view.getUint16(at + 2, little);
    const size = BYTES_OF_TYPE[type] ?? 0;
    const count = Math.min(MOST_VALUES, view.getUint32(at + 4, little));
    if (size === 0) continue;
    const from = size * count <= 4 ? at + 8 : view.getUint32(at + 8, little);
    if (from + size * count > view.byteLength) continue;
    const values = Array.from({ length: count }, (_, m) => readValue(view, from + m * size, type, little));
    directory.set(view.getUint16(at, little), values);
  }
  const end = start + 2 + entries * 12;
  return { directory, next: end + 4 <= view.byteLength ? view.getUint32(end, little) : 0 };
}

function readValue(view: DataView, at: number, type: number, little: boolean): number {
  switch (type) {
    case 3:
      return view.getUint16(at, little);
    case 4:
      return view.getUint32(at, little);
    case 5:
      return view.getUint32(at, little) / Math.max(1, view.getUint32(at + 4, little));
    case 6:
      return view.getInt8(at);
    case 8:
      return view.getInt16(at, little);
    case 9:
      return view.getInt32(at, little);
    case 10:
      return view.getInt32(at, little) / (view.getInt32(at + 4, little) || 1);
    case 11:
      return view.getFloat32(at, little);
    case 12:
      return view.getFloat64(at, little);
    default:
      return view.getUint8(at);
  }
}

/** The directory that holds the sensor's mosaic: the largest one whose photometric interpretation says so; null when none does. */
export function mosaicDirectory(directories: readonly Directory[]): Directory | null {
  const area = (directory: Directory): number =>
    (directory.get(RAW_TAG.width)?.[0] ?? 0) * (directory.get(RAW_TAG.height)?.[0] ?? 0);
  return directories
    .filter((directory) => directory.get(RAW_TAG.photometric)?.[0] === CFA)
    .reduce<Directory | null>((best, own) => (best === null || area(own) > area(best) ? own : best), null);
}

/** The end of the last strip or tile that any directory promises; beyond the file's end, the file is cut short. */
export function promisedLength(directories: readonly Directory[]): number {
  let end = 0;
  for (const directory of directories) {
    for (const [offsets, counts] of [
      [RAW_TAG.stripOffsets, RAW_TAG.stripByteCounts],
      [RAW_TAG.tileOffsets, RAW_TAG.tileByteCounts],
    ] as const) {
      const sizes = directory.get(counts) ?? [];
      (directory.get(offsets) ?? []).forEach((offset, n) => {
        end = Math.max(end, offset + (sizes[n] ?? 0));
      });
    }
  }
  return end;
}

/** Blocks of zeros this long do not occur in packed pictures. */
const BLOCK = 4096;

/** Part of the largest packed strip or tile set that is nothing but zeros: what a card or a copy has lost. 0 for unpacked data. */
export function emptyPartOf(bytes: Uint8Array, directories: readonly Directory[]): number {
  let most = 0;
  let part = 0;
  for (const directory of directories) {
    if ((directory.get(RAW_TAG.compression)?.[0] ?? 1) === 1) continue;
    const offsets = directory.get(RAW_TAG.stripOffsets) ?? directory.get(RAW_TAG.tileOffsets) ?? [];
    const counts = directory.get(RAW_TAG.stripByteCounts) ?? directory.get(RAW_TAG.tileByteCounts) ?? [];
    const size = counts.reduce((sum, count) => sum + count, 0);
    if (size <= most) continue;
    most = size;
    let empty = 0;
    offsets.forEach((offset, n) => {
      const end = Math.min(bytes.length, offset + (counts[n] ?? 0));
      for (let from = offset; from + BLOCK <= end; from += BLOCK)
        if (bytes.subarray(from, from + BLOCK).every((byte) => byte === 0)) empty += BLOCK;
    });
    part = empty / size;
  }
  return part;
}

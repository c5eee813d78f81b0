import { RAW_TAG, tiffDirectories } from './raw/tiffTags.js';

/** `perhaps`: nothing in the file says where it ends, or its end is all zeros as a copy leaves it that reserved its room first. */
export type Wholeness = 'whole' | 'part' | 'perhaps';

/** A file's last bytes looked at for a reserved, unwritten end. */
const TAIL = 512;

/**
 * Whether a file that is being copied has arrived. JPEG: its end marker (ISO/IEC 10918-1, B.1.1.3; entropy-coded data never holds
 * one). PNG: the IEND chunk. TIFF and raw files made of it: all strips and tiles of all directories. RAF and ISO media files (CR3): the
 * parts that their heads announce (RAF from memory). Of anything else only `perhaps` can be said.
 */
export function wholeness(bytes: Uint8Array): Wholeness {
  const file = Buffer.from(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  if (file.length < 16) return 'part';
  if (file[0] === 0xff && file[1] === 0xd8) return jpegArrived(file);
  if (file.toString('latin1', 1, 4) === 'PNG') return file.subarray(-64).includes('IEND') ? 'whole' : 'part';
  const order = file.toString('latin1', 0, 2);
  if (order === 'II' || order === 'MM') return tiffArrived(file);
  if (file.toString('latin1', 0, 8) === 'FUJIFILM') return file.length < 108 ? 'part' : within(file, rafEnd(file));
  if (file.toString('latin1', 4, 8) === 'ftyp') return within(file, mediaEnd(file));
  return 'perhaps';
}

/** Segments are passed over to the scan, so that a preview's own end marker does not count. */
function jpegArrived(file: Buffer): Wholeness {
  let at = 2;
  while (at + 4 <= file.length && file[at] === 0xff) {
    const marker = file[at + 1]!;
    if (marker === 0xff) {
      at++;
      continue;
    }
    if (marker === 0xd9) return 'whole';
    if (marker === 0xda) return file.indexOf(Buffer.from([0xff, 0xd9]), at) >= 0 ? 'whole' : 'part';
    at += 2 + file.readUInt16BE(at + 2);
  }
  // No segment where one must be: damaged, or room that was reserved.
  return at + 4 <= file.length ? 'perhaps' : 'part';
}

function tiffArrived(file: Buffer): Wholeness {
  const directories = tiffDirectories(file);
  if (directories.length === 0) return 'part';
  let end = 0;
  for (const directory of directories) {
    if ((directory.get(RAW_TAG.subDirectories) ?? []).some((offset) => offset + 6 > file.length)) return 'part';
    for (const [starts, counts] of [
      [RAW_TAG.stripOffsets, RAW_TAG.stripByteCounts],
      [RAW_TAG.tileOffsets, RAW_TAG.tileByteCounts],
    ] as const) {
      const sizes = directory.get(counts) ?? [];
      (directory.get(starts) ?? []).forEach((start, n) => (end = Math.max(end, start + (sizes[n] ?? 0))));
    }
  }
  return end === 0 ? 'perhaps' : within(file, end);
}

/** The head of a RAF file gives place and length of its JPEG and of its sensor's data. */
function rafEnd(file: Buffer): number {
  return Math.max(file.readUInt32BE(84) + file.readUInt32BE(88), file.readUInt32BE(100) + file.readUInt32BE(104));
}

/** Sum of the top-level boxes (ISO/IEC 14496-12, 4.2); infinite when the file stops before one's head. */
function mediaEnd(file: Buffer): number {
  let at = 0;
  while (at < file.length) {
    if (at + 16 > file.length) return Number.POSITIVE_INFINITY;
    const size = file.readUInt32BE(at);
    if (size === 0) return file.length;
    const length = size === 1 ? Number(file.readBigUInt64BE(at + 8)) : size;
    if (length < 8) return file.length;
    at += length;
  }
  return at;
}

function within(file: Buffer, end: number): Wholeness {
  if (end > file.length) return 'part';
  return file.subarray(-TAIL).every((value) => value === 0) ? 'perhaps' : 'whole';
}

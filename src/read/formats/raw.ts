import { CFA, LINEAR_RAW, RAW_TAG, tiffDirectories } from '../raw/tiffTags.js';
import type { Format } from './format.js';

/** Camera raw: containers with marks of their own, and TIFF files whose directories hold a mosaic. */
export const raw: Format = {
  id: 'raw',
  sniff: (bytes) => hasRawMark(bytes) || isTiffRaw(bytes),
  saysLinear: () => true,
};

function text(bytes: Uint8Array, offset: number, length: number): string {
  return String.fromCharCode(...bytes.subarray(offset, offset + length));
}

/** First bytes of RAF, ORF, RW2, MRW, X3F, CR3 and CR2 (common practice; the makers publish no standard). */
function hasRawMark(bytes: Uint8Array): boolean {
  const start = text(bytes, 0, 16);
  return (
    start.startsWith('FUJIFILMCCD-RAW') ||
    ['IIRO', 'IIRS', 'MMOR', 'IIU\0', '\0MRM', 'FOVb'].some((mark) => start.startsWith(mark)) ||
    text(bytes, 4, 8) === 'ftypcrx ' ||
    (start.startsWith('II*\0') && text(bytes, 8, 2) === 'CR')
  );
}

/** DNG says so; TIFF/EP and its kin keep a mosaic in some directory, or a small preview first and the rest below it. */
function isTiffRaw(bytes: Uint8Array): boolean {
  const directories = tiffDirectories(bytes);
  const first = directories[0];
  if (first === undefined) return false;
  const mosaic = directories.some((own) => {
    const kind = own.get(RAW_TAG.photometric)?.[0];
    return own.has(RAW_TAG.dngVersion) || kind === CFA || kind === LINEAR_RAW;
  });
  const reduced = ((first.get(RAW_TAG.subfileType)?.[0] ?? 0) & 1) === 1;
  return mosaic || (reduced && first.has(RAW_TAG.subDirectories));
}

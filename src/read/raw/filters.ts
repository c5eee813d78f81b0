import type { LibRawMetadata } from 'libraw-wasm/dist/libraw.js';
import type { Repeating } from './mosaic.js';
import { RAW_TAG, type Directory } from './tiffTags.js';

/** LibRaw's mark for a 6 x 6 pattern that `filters` cannot hold. */
const SIX_BY_SIX = 9;

/** The filter pattern from the picture's top-left; null for other colours than red, green and blue, or a pattern that is not known. */
export function filtersOf(metadata: LibRawMetadata, directory: Directory | null, bytes: Uint8Array): Repeating | null {
  if (metadata.filters === SIX_BY_SIX) return fromTags(directory) ?? fromRaf(bytes);
  if (metadata.filters < 1000) return null;
  // Two bits a site, sixteen rows of two columns repeat (LibRaw API, "filters"): colour index at (row, column).
  const values = [0, 1].flatMap((row) =>
    [0, 1].map((column) => (metadata.filters >>> ((((row << 1) & 14) | (column & 1)) << 1)) & 3),
  );
  const names = values.map((index) => 'RGB'.indexOf(metadata.cdesc[index] ?? '?'));
  const repeats = metadata.filters >>> 0 === repeated(values);
  return names.includes(-1) || !repeats ? null : { rows: 2, columns: 2, values: names };
}

/** The 32 bits that a pattern of two rows gives. */
function repeated(values: readonly number[]): number {
  let bits = 0;
  for (let row = 0; row < 8; row++)
    for (let column = 0; column < 2; column++) bits |= values[(row % 2) * 2 + column]! << ((row * 2 + column) * 2);
  return bits >>> 0;
}

/** TIFF/EP CFAPattern: 0 red, 1 green, 2 blue. */
function fromTags(directory: Directory | null): Repeating | null {
  const [rows, columns] = directory?.get(RAW_TAG.cfaRepeatDim) ?? [];
  const values = directory?.get(RAW_TAG.cfaPattern);
  if (rows !== 6 || columns !== 6 || values?.length !== 36 || values.some((value) => value > 2)) return null;
  return { rows, columns, values };
}

/** Tag 0x131 of a RAF file's header directory (its offset is at byte 92) holds the 36 sites, last one first (as LibRaw reads it; from memory). */
function fromRaf(bytes: Uint8Array): Repeating | null {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  if (bytes.length < 100) return null;
  let place = view.getUint32(92);
  if (place + 4 > bytes.length) return null;
  const entries = Math.min(255, view.getUint32(place));
  place += 4;
  for (let n = 0; n < entries && place + 4 <= bytes.length; n++) {
    const tag = view.getUint16(place);
    const size = view.getUint16(place + 2);
    if (tag === 0x131 && size === 36 && place + 40 <= bytes.length) {
      const values = Array.from(bytes.subarray(place + 4, place + 40), (value) => value & 3).reverse();
      return values.some((value) => value > 2) ? null : { rows: 6, columns: 6, values };
    }
    place += 4 + size;
  }
  return null;
}

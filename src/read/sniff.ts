import { PaintstopError } from '../errors.js';
import type { Format } from './formats/format.js';
import { FORMATS } from './formats/list.js';

/** Which format these bytes are, by content alone. Throws from the catalogue when it is none that can be read. */
export function sniff(bytes: Uint8Array, file: string): Format {
  if (bytes.length === 0) throw new PaintstopError('empty-file', `${file} is empty (0 bytes)`);
  const raw = cameraRawName(bytes);
  if (raw !== null)
    throw new PaintstopError('camera-raw', `${file} is a camera raw file (${raw}), which is not read yet`);
  const format = FORMATS.find((candidate) => candidate.sniff(bytes));
  if (format !== undefined) return format;
  const other = otherPictureName(bytes);
  if (other !== null)
    throw new PaintstopError('unsupported-picture', `${file} is a ${other} picture, which is not read`);
  throw new PaintstopError('not-a-picture', `${file} is not a picture that can be read`);
}

function text(bytes: Uint8Array, offset: number, length: number): string {
  return String.fromCharCode(...bytes.subarray(offset, offset + length));
}

function otherPictureName(bytes: Uint8Array): string | null {
  if (text(bytes, 0, 4) === 'RIFF' && text(bytes, 8, 4) === 'WEBP') return 'WebP';
  if (text(bytes, 4, 4) === 'ftyp') return /^(avif|avis)/.test(text(bytes, 8, 4)) ? 'AVIF' : 'HEIF';
  if (text(bytes, 0, 4) === 'GIF8') return 'GIF';
  if (text(bytes, 0, 2) === 'BM') return 'BMP';
  if (text(bytes, 0, 4) === '8BPS') return 'layered (PSD)';
  if (bytes[0] === 0xff && bytes[1] === 0x0a) return 'JPEG XL';
  return null;
}

/** Raw containers have marks of their own; the TIFF-based ones are told by their first directory. */
function cameraRawName(bytes: Uint8Array): string | null {
  const start = text(bytes, 0, 16);
  if (start.startsWith('FUJIFILMCCD-RAW')) return 'RAF';
  if (start.startsWith('IIRO') || start.startsWith('IIRS') || start.startsWith('MMOR')) return 'ORF';
  if (start.startsWith('IIU\0')) return 'RW2';
  if (text(bytes, 4, 8) === 'ftypcrx ') return 'CR3';
  if (text(bytes, 8, 2) === 'CR' && start.startsWith('II')) return 'CR2';
  return tiffRawName(bytes);
}

function tiffRawName(bytes: Uint8Array): string | null {
  const little = text(bytes, 0, 4) === 'II*\0';
  if (!little && text(bytes, 0, 4) !== 'MM\0*') return null;
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  if (bytes.length < 16) return null;
  const directory = view.getUint32(4, little);
  if (directory + 2 > bytes.length) return null;
  const entries = view.getUint16(directory, little);
  let reduced = false;
  let subDirectories = false;
  for (let n = 0; n < entries; n++) {
    const at = directory + 2 + n * 12;
    if (at + 12 > bytes.length) break;
    const tag = view.getUint16(at, little);
    if (tag === 50706) return 'DNG';
    if (tag === 262 && [32803, 34892].includes(view.getUint16(at + 8, little))) return 'TIFF/EP';
    if (tag === 254) reduced = (view.getUint32(at + 8, little) & 1) === 1;
    if (tag === 330) subDirectories = true;
  }
  // TIFF/EP raw files keep a small preview in the first directory and the mosaic below it.
  return reduced && subDirectories ? 'TIFF/EP' : null;
}

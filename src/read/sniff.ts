import { PaintstopError } from '../errors.js';
import type { Format } from './formats/format.js';
import { FORMATS } from './formats/list.js';

/** Which format these bytes are, by content alone. Throws from the catalogue when it is none that can be read. */
export function sniff(bytes: Uint8Array, file: string): Format {
  if (bytes.length === 0) throw new PaintstopError('empty-file', `${file} is empty (0 bytes)`);
  const format = FORMATS.find((candidate) => candidate.sniff(bytes));
  if (format !== undefined) return format;
  const other = otherPictureName(bytes);
  if (other !== null)
    throw new PaintstopError('unsupported-picture', `${file} is a picture of a kind that is not read (${other})`);
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

import type { Format } from './format.js';
import { raw } from './raw.js';

/** TIFF 6.0 and BigTIFF: byte order mark, then 42 or 43; camera raw in TIFF's clothes is not meant. */
export const tiff: Format = {
  id: 'tiff',
  sniff: (bytes) => isTiff(bytes) && !raw.sniff(bytes),
  saysLinear: () => false,
};

function isTiff(bytes: Uint8Array): boolean {
  const order = String.fromCharCode(bytes[0] ?? 0, bytes[1] ?? 0);
  if (order === 'II') return (bytes[2] === 42 || bytes[2] === 43) && bytes[3] === 0;
  return order === 'MM' && bytes[2] === 0 && (bytes[3] === 42 || bytes[3] === 43);
}

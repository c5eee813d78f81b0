import type { Format } from './format.js';

const SIGNATURE = [0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a];

/** PNG (W3C PNG, third edition): eight signature bytes, then chunks. */
export const png: Format = {
  id: 'png',
  sniff: (bytes) => SIGNATURE.every((byte, index) => bytes[index] === byte),
  saysLinear: (bytes) => gammaOf(bytes) === 100000,
};

/** The gAMA chunk (100000 = linear samples); null when there is none, or an sRGB chunk overrules it (section 11.3.2). */
function gammaOf(bytes: Uint8Array): number | null {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  let gamma: number | null = null;
  let at = 8;
  while (at + 12 <= bytes.length) {
    const length = view.getUint32(at);
    const type = String.fromCharCode(...bytes.subarray(at + 4, at + 8));
    if (type === 'sRGB') return null;
    if (type === 'gAMA' && length === 4) gamma = view.getUint32(at + 8);
    if (type === 'IDAT') return gamma;
    at += 12 + length;
  }
  return gamma;
}

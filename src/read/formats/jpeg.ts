import type { Format } from './format.js';

/** JPEG (ISO/IEC 10918-1): starts with SOI and a marker. */
export const jpeg: Format = {
  id: 'jpeg',
  sniff: (bytes) => bytes[0] === 0xff && bytes[1] === 0xd8 && bytes[2] === 0xff,
  saysLinear: () => false,
};

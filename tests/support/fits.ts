import { readFileSync } from 'node:fs';

/** A FITS image of 16-bit integers or 32-bit floats (FITS standard 4.0): enough for one primary array. */
export function readFits(path: string): { width: number; height: number; values: Float32Array } {
  const bytes = readFileSync(path);
  const cards = new Map<string, string>();
  let at = 0;
  for (let done = false; !done; at += 2880)
    for (let n = 0; n < 36; n++) {
      const card = bytes.toString('latin1', at + n * 80, at + n * 80 + 80);
      if (card.startsWith('END')) done = true;
      else if (card[8] === '=') cards.set(card.slice(0, 8).trim(), card.slice(10).split('/')[0]!.trim());
    }
  const number = (name: string, otherwise: number): number => Number(cards.get(name) ?? otherwise);
  const [width, height, bits] = [number('NAXIS1', 0), number('NAXIS2', 0), number('BITPIX', 0)];
  const scale = number('BSCALE', 1);
  const zero = number('BZERO', 0);
  const values = Float32Array.from({ length: width * height }, (_, i) => {
    const value =
      bits === 16 ? bytes.readInt16BE(at + i * 2) : bits === -32 ? bytes.readFloatBE(at + i * 4) : Number.NaN;
    return value * scale + zero;
  });
  return { width, height, values };
}

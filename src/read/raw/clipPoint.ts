import { at, type Mosaic } from './mosaic.js';

/** Sites looked at, about: enough for a spike of a ten-thousandth of the frame. */
const LOOKED_AT = 6_000_000;

/** Sites in a spike, at least. */
const LEAST = 40;

/**
 * The level at which each colour really saturates, as a spike at the upper end of its histogram; null where there is none (nothing
 * clipped). A spike: the topmost 0.3 % of the range holds over five times what the same width below it holds on average.
 */
function clipPoints(mosaic: Mosaic): [number | null, number | null, number | null] {
  const histograms = [0, 1, 2].map(() => new Uint32Array(65536));
  const { data, width, height, filters } = mosaic;
  const stride = Math.max(1, Math.floor((width * height) / LOOKED_AT));
  for (let y = 0; y < height; y++) {
    // Whole rows are taken or left, so that every column of the pattern has its share.
    if (Math.floor(y / filters.rows) % stride !== 0) continue;
    for (let first = 0; first < filters.columns; first++) {
      const histogram = histograms[at(filters, y, first)]!;
      for (let i = y * width + first; i < (y + 1) * width; i += filters.columns) histogram[data[i]!]!++;
    }
  }
  return histograms.map((histogram, colour) => spikeOf(histogram, mosaic.white[colour]!)) as [
    number | null,
    number | null,
    number | null,
  ];
}

function spikeOf(histogram: Uint32Array, white: number): number | null {
  const wide = Math.max(4, Math.round(white * 0.003));
  let top = histogram.length - 1;
  // A hot pixel or two above the spike are no clip point.
  let above = 0;
  while (top > 0 && above + histogram[top]! < LEAST / 8) above += histogram[top--]!;
  const count = (from: number, to: number): number => {
    let sum = 0;
    for (let value = Math.max(0, from); value <= to; value++) sum += histogram[value]!;
    return sum;
  };
  const spike = count(top - wide, top);
  const below = count(top - 6 * wide - 1, top - wide - 1) / 5;
  if (spike < LEAST || spike < 5 * below) return null;
  let peak = top;
  for (let value = top; value >= top - wide && value >= 0; value--)
    if (histogram[value]! > histogram[peak]!) peak = value;
  return peak;
}

/** Header and data are held to agree within this part of the range. */
const AGREE = 0.01;

/**
 * White levels to be used: the header's, unless the frame itself saturates elsewhere (between half of it and the top of the numbers).
 * `found` says that the data overruled the header.
 */
export function settledWhite(mosaic: Mosaic): { white: [number, number, number]; found: boolean } {
  let found = false;
  const points = clipPoints(mosaic);
  const white = mosaic.white.map((header, colour) => {
    const own = points[colour] ?? null;
    if (own === null || Math.abs(own - header) <= AGREE * header || own < header / 2) return header;
    found = true;
    return own;
  }) as [number, number, number];
  return { white, found };
}

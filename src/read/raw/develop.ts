import { at, GREEN, type Mosaic, type Repeating } from './mosaic.js';

/** Sample = PEDESTAL + SCALE x light: light under black level, which noise makes, is kept. */
export const PEDESTAL = 2000;
export const SCALE = 60000;

/** Contract: clipped is white level minus one percent of the range. */
export const CLIP_SAMPLE = PEDESTAL + 0.99 * SCALE;

export interface Developed {
  /** Upright, interleaved R G B, sensor colours without white balance. */
  readonly samples: Uint16Array;
  readonly widthPx: number;
  readonly heightPx: number;
}

/**
 * The mosaic carried to full size: black level off, divided by white minus the colour's highest black (DNG 1.7.1, chapter 5), upright.
 * A colour that a site lacks comes from the nearest site that has it (so that each colour's clipped part stays what it is on the
 * mosaic); green from all the nearest ones, which keeps star shapes from being drawn out along one diagonal.
 */
export function develop(mosaic: Mosaic, white: readonly [number, number, number]): Developed {
  const { width, height, filters } = mosaic;
  const light = normalise(mosaic, white);
  const neighbours = neighboursOf(filters);
  const turned = mosaic.flip === 5 || mosaic.flip === 6;
  const widthPx = turned ? height : width;
  const heightPx = turned ? width : height;
  const samples = new Uint16Array(width * height * 3);
  const { origin, perColumn, perRow } = stepsOf(mosaic.flip, width, height);
  const margin = 6;
  for (let y = 0; y < height; y++) {
    const inner = y >= margin && y < height - margin;
    const phaseRow = (y % filters.rows) * filters.columns;
    let to = (origin + y * perRow) * 3;
    for (let x = 0; x < width; x++, to += perColumn * 3) {
      const i = y * width + x;
      const phase = neighbours[phaseRow + (x % filters.columns)]!;
      const inside = inner && x >= margin && x < width - margin;
      for (let c = 0; c < 3; c++) {
        const site = phase[c]!;
        if (site.own) samples[to + c] = light[i]!;
        else if (inside) samples[to + c] = borrow(light, i, width, site);
        else samples[to + c] = light[placeNear(x, y, width, height, filters, c)]!;
      }
    }
  }
  return { samples, widthPx, heightPx };
}

interface Site {
  readonly own: boolean;
  /** Nearest site of the colour. */
  readonly dx: number;
  readonly dy: number;
  /** For green: all sites at distance one. */
  readonly around: readonly (readonly [number, number])[];
}

function borrow(light: Uint16Array, i: number, width: number, site: Site): number {
  const nearest = light[i + site.dy * width + site.dx]!;
  const { around } = site;
  if (around.length === 0 || nearest >= CLIP_SAMPLE) return nearest;
  let sum = 0;
  for (const [dx, dy] of around) sum += light[i + dy * width + dx]!;
  return Math.min(CLIP_SAMPLE - 1, Math.round(sum / around.length));
}

/** For each place of the pattern and each colour, where the nearest site of that colour is; ties go up, then left. */
function neighboursOf(filters: Repeating): Site[][] {
  const sites: Site[][] = [];
  for (let y = 0; y < filters.rows; y++)
    for (let x = 0; x < filters.columns; x++) sites.push([0, 1, 2].map((colour) => nearestSite(filters, x, y, colour)));
  return sites;
}

function nearestSite(filters: Repeating, x: number, y: number, colour: number): Site {
  const period = 12 * filters.rows * filters.columns;
  const is = (dx: number, dy: number): boolean => at(filters, y + dy + period, x + dx + period) === colour;
  let best = { dx: 0, dy: 0, far: Number.POSITIVE_INFINITY };
  const around: [number, number][] = [];
  for (let dy = -3; dy <= 3; dy++)
    for (let dx = -3; dx <= 3; dx++) {
      if (!is(dx, dy)) continue;
      const far = dx * dx + dy * dy;
      // The row's own neighbour goes before those above and below: then every site lends itself equally often.
      const rank = far + (dy === 0 ? 0 : 0.1);
      if (rank < best.far) best = { dx, dy, far: rank };
      if (colour === GREEN && far === 1) around.push([dx, dy]);
    }
  return { own: best.far === 0, dx: best.dx, dy: best.dy, around };
}

/** At the frame's edge: the nearest site of the colour that is inside. */
function placeNear(x: number, y: number, width: number, height: number, filters: Repeating, colour: number): number {
  for (let reach = 0; reach <= 6; reach++)
    for (let ny = Math.max(0, y - reach); ny <= Math.min(height - 1, y + reach); ny++)
      for (let nx = Math.max(0, x - reach); nx <= Math.min(width - 1, x + reach); nx++)
        if (at(filters, ny, nx) === colour) return ny * width + nx;
  return y * width + x;
}

function normalise(mosaic: Mosaic, white: readonly [number, number, number]): Uint16Array {
  const { data, width, height, filters, black, blackRows, blackColumns } = mosaic;
  const highest = highestBlack(mosaic);
  const factor = white.map((level, colour) => SCALE / Math.max(1, level - highest[colour]!));
  const out = new Uint16Array(data.length);
  const columns = black.columns * filters.columns;
  for (let y = 0; y < height; y++) {
    const rowBlack = blackRows[y] ?? 0;
    // Black and factor repeat along the row.
    const blacks = Float64Array.from({ length: columns }, (_, x) => at(black, y, x) + rowBlack);
    const factors = Float64Array.from({ length: columns }, (_, x) => factor[at(filters, y, x)]!);
    for (let x = 0, phase = 0; x < width; x++) {
      const i = y * width + x;
      const value = PEDESTAL + (data[i]! - blacks[phase]! - (blackColumns[x] ?? 0)) * factors[phase]!;
      out[i] = value <= 0 ? 0 : value >= 65535 ? 65535 : value + 0.5;
      if (++phase === columns) phase = 0;
    }
  }
  return out;
}

function highestBlack({ filters, black, blackRows, blackColumns }: Mosaic): number[] {
  const extra = Math.max(0, ...blackRows) + Math.max(0, ...blackColumns);
  const highest = [0, 0, 0];
  for (let y = 0; y < black.rows * filters.rows; y++)
    for (let x = 0; x < black.columns * filters.columns; x++) {
      const colour = at(filters, y, x);
      highest[colour] = Math.max(highest[colour]!, at(black, y, x) + extra);
    }
  return highest;
}

/** Where the stored top-left pixel goes in the upright frame, and the steps of a stored column and a stored row. */
function stepsOf(flip: number, width: number, height: number): { origin: number; perColumn: number; perRow: number } {
  if (flip === 3) return { origin: width * height - 1, perColumn: -1, perRow: -width };
  // A quarter anticlockwise: stored columns run upwards; the first stored column becomes the last row.
  if (flip === 5) return { origin: (width - 1) * height, perColumn: -height, perRow: 1 };
  if (flip === 6) return { origin: height - 1, perColumn: height, perRow: -1 };
  return { origin: 0, perColumn: 1, perRow: width };
}

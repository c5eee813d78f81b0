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
  /** Filter colour of each site in a repeating square from the upright top-left. */
  readonly uprightFilters: Repeating;
}

/**
 * The mosaic carried to full size: black level off, divided by white minus the colour's highest black (DNG 1.7.1, chapter 5), upright.
 * A colour that a site lacks comes from the nearest site that has it (so that each colour's clipped part stays what it is on the
 * mosaic); green from all the nearest ones, which keeps star shapes from being drawn out along one diagonal.
 */
export function develop(mosaic: Mosaic, white: readonly [number, number, number]): Developed {
  const { width, height, filters } = mosaic;
  const light = normalise(mosaic, white);
  const bayer = filters.rows === 2 && filters.columns === 2;
  const neighbours = neighboursOf(filters);
  const turned = mosaic.flip === 5 || mosaic.flip === 6;
  const widthPx = turned ? height : width;
  const heightPx = turned ? width : height;
  const samples = new Uint16Array(width * height * 3);
  const { origin, perColumn, perRow } = stepsOf(mosaic.flip, width, height);
  const margin = 6;
  for (let y = 0; y < height; y++) {
    const inner = y >= margin && y < height - margin;
    if (bayer && inner && width > 3 * margin) {
      bayerRow(samples, light, mosaic, neighbours, y, margin, origin + y * perRow, perColumn);
      fillEnds(samples, light, mosaic, y, margin, origin + y * perRow, perColumn);
      continue;
    }
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
  return { samples, widthPx, heightPx, uprightFilters: turnedFilters(mosaic) };
}

/** The stretch of a row away from its ends, two sites at a time: green and one other colour take turns. */
function bayerRow(
  samples: Uint16Array,
  light: Uint16Array,
  { width, filters }: Mosaic,
  neighbours: readonly (readonly Site[])[],
  y: number,
  margin: number,
  origin: number,
  perColumn: number,
): void {
  for (const first of [margin, margin + 1]) {
    const phase = neighbours[(y % 2) * 2 + (first % 2)]!;
    const [red, green, blue] = phase.map((site) => site.dy * width + site.dx) as [number, number, number];
    const ownGreen = at(filters, y, first) === GREEN;
    const step = 2 * perColumn * 3;
    let to = (origin + first * perColumn) * 3;
    for (let x = first, i = y * width + first; x < width - margin; x += 2, i += 2, to += step) {
      samples[to] = light[i + red]!;
      const nearest = light[i + green]!;
      if (ownGreen || nearest >= CLIP_SAMPLE) samples[to + 1] = nearest;
      else {
        const mean = (light[i - 1]! + light[i + 1]! + light[i - width]! + light[i + width]! + 2) >> 2;
        samples[to + 1] = mean < CLIP_SAMPLE ? mean : CLIP_SAMPLE - 1;
      }
      samples[to + 2] = light[i + blue]!;
    }
  }
}

function fillEnds(
  samples: Uint16Array,
  light: Uint16Array,
  { width, height, filters }: Mosaic,
  y: number,
  margin: number,
  origin: number,
  perColumn: number,
): void {
  for (let n = 0; n < 2 * margin; n++) {
    const x = n < margin ? n : width - 1 - (n - margin);
    for (let c = 0; c < 3; c++)
      samples[(origin + x * perColumn) * 3 + c] = light[placeNear(x, y, width, height, filters, c)]!;
  }
}

/** The filter square as seen from the upright frame's top-left. */
function turnedFilters({ filters, flip, width, height }: Mosaic): Repeating {
  const turned = flip === 5 || flip === 6;
  const rows = turned ? filters.columns : filters.rows;
  const columns = turned ? filters.rows : filters.columns;
  const values: number[] = [];
  for (let y = 0; y < rows; y++)
    for (let x = 0; x < columns; x++) {
      if (flip === 3) values.push(at(filters, height - 1 - y, width - 1 - x));
      else if (flip === 5) values.push(at(filters, x, width - 1 - y));
      else if (flip === 6) values.push(at(filters, height - 1 - x, y));
      else values.push(at(filters, y, x));
    }
  return { rows, columns, values };
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
  const tables = tablesOf(mosaic, factor);
  const out = new Uint16Array(data.length);
  const even = blackRows.every((own) => own === 0) && blackColumns.every((own) => own === 0);
  const columns = black.columns * filters.columns;
  for (let y = 0; y < height; y++) {
    const row = tables[y % tables.length]!;
    const start = y * width;
    if (even) {
      for (let first = 0; first < columns; first++) {
        const table = row[first]!;
        for (let i = start + first; i < start + width; i += columns) out[i] = table[data[i]!]!;
      }
      continue;
    }
    for (let x = 0; x < width; x++) {
      const extra = (blackRows[y] ?? 0) + (blackColumns[x] ?? 0);
      const value = (data[start + x]! - at(black, y, x) - extra) * factor[at(filters, y, x)]!;
      out[start + x] = sampleOf(value);
    }
  }
  return out;
}

function sampleOf(light: number): number {
  return Math.max(0, Math.min(65535, Math.round(PEDESTAL + light)));
}

/** Sample by raw number, for each place of the pattern that black levels and filters repeat in. */
function tablesOf({ filters, black, white }: Mosaic, factor: readonly number[]): Uint16Array[][] {
  const made = new Map<string, Uint16Array>();
  const most = Math.max(...white, 16383);
  const tableOf = (level: number, gain: number): Uint16Array => {
    const key = `${String(level)}/${String(gain)}`;
    const known = made.get(key);
    if (known !== undefined) return known;
    const table = new Uint16Array(65536);
    const last = Math.min(65535, Math.ceil(most * 1.1));
    for (let value = 0; value <= last; value++) table[value] = sampleOf((value - level) * gain);
    table.fill(sampleOf((last - level) * gain), last);
    made.set(key, table);
    return table;
  };
  return Array.from({ length: black.rows * filters.rows }, (_, y) =>
    Array.from({ length: black.columns * filters.columns }, (__, x) =>
      tableOf(at(black, y, x), factor[at(filters, y, x)]!),
    ),
  );
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

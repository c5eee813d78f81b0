import { boxBlur, connectedBlobs } from '../math/raster.js';
import { quickLog2 } from '../math/quickLog2.js';
import { quantile } from '../math/statistics.js';
import { REGION, type Grid } from '../model/regions.js';
import { colourTrust, warmthOfLight } from '../physics/twoLights.js';

/** Land of the working grid: log2 luminance and log2(R/B) of each block, averaged over its neighbours. */
interface Seen {
  readonly level: Float32Array;
  readonly warmth: Float32Array;
}

/** Water at a low angle returns a quarter of the sky's light to nearly all of it (Fresnel's equations, n = 1.33); where it is darker it mirrors hills. */
const UNDER_SKY_STOPS = { least: 0.15, most: 2.2, mostOfHills: 6 };

/** And does not change its colour, log2(R/B), while land greys it; a few blocks hold grain besides. */
const COLOUR_OF_SKY = { calm: 0.14, grainy: 0.35 };

/** Land of the sky's colour is found in spots; water lies in sheets. Part of a square of this part of the frame's width. */
const SHEET = { part: 0.6, radius: 1 / 80 };

/** Less of the foreground than this that shows the sky itself makes no difference. */
const LEAST_PART = 0.04;

/** Added to light before its level is told. */
const DARKEST = 2 ** -13.5;

/**
 * Foreground that mirrors the sky: no lamp lights it, and its light is not the ambient light on land. 1 where it does, one value a block;
 * null where there is too little of it.
 */
export function mirroringWater(
  grid: Pick<Grid, 'width' | 'height' | 'luminance' | 'red' | 'blue'>,
  { level, warmth }: Seen,
  mask: Uint8Array,
  skyLevel: number,
): Uint8Array | null {
  const { width, height } = grid;
  const sky = skyAsMirrored(grid, mask, skyLevel);
  if (sky === null) return null;
  const land = new Float32Array(mask.length);
  for (let i = 0; i < mask.length; i++) if (mask[i] === REGION.unlit) land[i] = 1;
  const radius = Math.max(1, Math.round(width * SHEET.radius));
  const alike = alikeTo(sky, land, { level, warmth }, new Array<Colours>(width).fill(sky.colours));
  if (alike === null) return null;
  const support = boxBlur(land, width, height, radius);
  const inSheets = (spots: Float32Array): Float32Array => {
    const part = boxBlur(spots, width, height, radius);
    for (let i = 0; i < part.length; i++) part[i] = land[i] === 1 && part[i]! >= SHEET.part * support[i]! ? 1 : 0;
    return part;
  };
  const sheet = inSheets(alike);
  if (isLittle(sheet, land, level, sky) || isRough(grid, mask, sheet, sky.level)) return null;
  const glow = glowAsMirrored(grid, mask, sky);
  const glowing = alikeTo(sky, land, { level, warmth }, glow);
  if (glowing !== null) addGlow(grid, mask, sheet, inSheets(glowing), sky.level);
  // Averages blur its shore; there the blocks themselves tell.
  const near = boxBlur(sheet, width, height, 2 * radius);
  const water = new Uint8Array(mask.length);
  for (let i = 0; i < mask.length; i++) {
    if (land[i] === 0 || near[i] === 0) continue;
    water[i] = sheet[i] === 1 || looksLikeSky(grid, i, sky, glow[i % width]!) ? 1 : 0;
  }
  return water;
}

/** Land of the sky's level and, by column, of its colours, 1 where it is; null where there is too little of it. */
function alikeTo(
  sky: MirroredSky,
  land: Float32Array,
  { level, warmth }: Seen,
  colours: readonly Colours[],
): Float32Array | null {
  const alike = new Float32Array(land.length);
  for (let i = 0; i < land.length; i++) {
    if (land[i] === 0) continue;
    const within = COLOUR_OF_SKY.calm / Math.max(0.25, colourTrust(level[i]!));
    if (isLikeSky(sky, colours[i % colours.length]!, sky.level - level[i]!, warmth[i]!, within)) alike[i] = 1;
  }
  return isLittle(alike, land, level, sky) ? null : alike;
}

/** Too little of the land shows the sky itself, and not only hills in it. */
function isLittle(found: Float32Array, land: Float32Array, level: Float32Array, sky: MirroredSky): boolean {
  let all = 0;
  let open = 0;
  for (let i = 0; i < land.length; i++) {
    if (land[i] === 1) all++;
    if (found[i] === 1 && sky.level - level[i]! <= UNDER_SKY_STOPS.most) open++;
  }
  return open < LEAST_PART * all;
}

/** Water that mirrors a glow at the horizon has its colour, and lies against the rest: adds to `sheet` what of `glowing` does. */
function addGlow(
  grid: Pick<Grid, 'width' | 'height' | 'luminance'>,
  mask: Uint8Array,
  sheet: Float32Array,
  glowing: Float32Array,
  skyLevel: number,
): void {
  const { width, height } = grid;
  const other = new Uint8Array(mask.length);
  for (let i = 0; i < other.length; i++) other[i] = glowing[i] === 1 && sheet[i] === 0 ? 1 : 0;
  const { labels, blobs } = connectedBlobs(other, width, height);
  const touches = new Uint8Array(blobs.length + 1);
  for (let i = width; i < other.length - width; i++)
    if (other[i] === 1 && (sheet[i - width] === 1 || sheet[i + width] === 1)) touches[labels[i]!] = 1;
  const added = new Float32Array(mask.length);
  for (let i = 0; i < added.length; i++) if (touches[labels[i]!] === 1) added[i] = 1;
  if (isRough(grid, mask, added, skyLevel)) return;
  for (let i = 0; i < added.length; i++) if (added[i] === 1) sheet[i] = 1;
}

/**
 * Still or smoothed by a long exposure, water is as even as the sky but for grain: its square goes as the light, and with it what reading the
 * sensor adds (about two electrons squared of some four thousand at ISO 1600; common practice, no source). Land has texture besides: less is
 * let pass of a little that looks like water than of a sheet that is much of the land, since waves roughen water too. Where the sky itself is
 * mirrored tells, not the dark hills in it, whose grain is of the sensor's making.
 */
const ROUGHER = { least: 1.1, perPart: 0.3 };
const READ_NOISE = 2 ** -10;
const NEIGHBOURS_OFF = 4;
const LOOKED_AT_EVERY = 47;

/** Whether what was taken for water is rougher than the sky would be with as little light. */
function isRough(
  { width, luminance }: Pick<Grid, 'width' | 'luminance'>,
  mask: Uint8Array,
  sheet: Float32Array,
  skyLevel: number,
): boolean {
  const found: number[] = [];
  const dark: number[] = [];
  const own: number[] = [];
  const open = 2 ** (skyLevel - UNDER_SKY_STOPS.most);
  let [part, land] = [0, 0];
  const off = NEIGHBOURS_OFF;
  const scatters = (i: number, isIn: (k: number) => boolean, into: number[], ifDark: number[]): void => {
    const around = [i - off, i + off, i - off * width, i + off * width];
    if (!around.every(isIn)) return;
    const mean = around.reduce((sum, k) => sum + luminance[k]!, 0) / 4;
    if (mean <= DARKEST) return;
    (mean > open ? into : ifDark).push(Math.abs(luminance[i]! - mean) / Math.sqrt(mean + READ_NOISE));
  };
  for (let i = 0; i < mask.length; i += LOOKED_AT_EVERY)
    if (mask[i] === REGION.sky) scatters(i, (k) => mask[k] === REGION.sky, own, own);
    else {
      land++;
      part += sheet[i]!;
      if (sheet[i] === 1) scatters(i, (k) => sheet[k] === 1, found, dark);
    }
  const told = found.length > 50 ? found : [...found, ...dark];
  const allowed = ROUGHER.least + ROUGHER.perPart * (part / Math.max(1, land));
  return told.length > 50 && own.length > 50 && quantile(told, 0.5) > allowed * quantile(own, 0.5);
}

/** From the coldest to the warmest, log2(R/B). */
interface Colours {
  readonly coldest: number;
  readonly warmest: number;
}

/** The sky's level, its usual colour, and how that goes from row to row. */
interface MirroredSky {
  readonly level: number;
  readonly usual: number;
  readonly colours: Colours;
}

/** Sky in a row, blocks, from which on its mean is a colour. */
const LEAST_IN_ROW = 40;
const LEAST_ROWS = 5;

/** Colours farther from the usual one are too much like lamp light. */
const MOST_GLOW = 0.3;

type Coloured = Pick<Grid, 'width' | 'height' | 'red' | 'blue'>;

function skyAsMirrored(grid: Coloured, mask: Uint8Array, level: number): MirroredSky | null {
  const rows = coloursOfRows(grid, mask, 0, grid.width, 3);
  if (rows.length < LEAST_ROWS) return null;
  const usual = quantile(rows, 0.5);
  const coldest = Math.max(usual - MOST_GLOW, quantile(rows, 0.05));
  const warmest = Math.min(usual + MOST_GLOW, quantile(rows, 0.95));
  return { level, usual, colours: { coldest, warmest } };
}

/** Stretches of the width that a glow at the horizon is told in. */
const STRETCHES = 12;

/** By column: the colours of the sky over it, glow and all, since water mirrors what stands over it. */
function glowAsMirrored(grid: Coloured, mask: Uint8Array, { colours }: MirroredSky): Colours[] {
  const wide = Math.max(Math.ceil(grid.width / STRETCHES), 2 * LEAST_IN_ROW);
  const stretches = Array.from({ length: Math.ceil(grid.width / wide) }, (_, n): Colours => {
    const rows = coloursOfRows(grid, mask, n * wide, Math.min(grid.width, (n + 1) * wide), 1);
    return rows.length < LEAST_ROWS ? colours : { coldest: quantile(rows, 0.02), warmest: quantile(rows, 0.98) };
  });
  return Array.from({ length: grid.width }, (_, x) => stretches[Math.floor(x / wide)]!);
}

/** log2(R/B) of the sky in every fourth row, from column `from` to before `to`. */
function coloursOfRows(
  { width, height, red, blue }: Coloured,
  mask: Uint8Array,
  from: number,
  to: number,
  every: number,
): number[] {
  const rows: number[] = [];
  for (let y = 0; y < height; y += 4) {
    let count = 0;
    let [r, b] = [0, 0];
    for (let i = y * width + from; i < y * width + to; i += every) {
      if (mask[i] !== REGION.sky) continue;
      count++;
      r += red[i]!;
      b += blue[i]!;
    }
    if (count >= LEAST_IN_ROW) rows.push(warmthOfLight(r / count, b / count));
  }
  return rows;
}

/** Lit land has twice the ambient light at least, which is some three stops under the sky's; what is darker beside water is hills in it. */
const DARKER_THAN_LIT = 3;

/** Hills in it are darker, and of the sky's usual colour. */
function isLikeSky(sky: MirroredSky, colours: Colours, under: number, warmth: number, within: number): boolean {
  if (under < UNDER_SKY_STOPS.least || under > UNDER_SKY_STOPS.mostOfHills) return false;
  if (under > UNDER_SKY_STOPS.most) return Math.abs(warmth - sky.usual) <= within;
  return warmth >= colours.coldest - within && warmth <= colours.warmest + within;
}

/** Judged by nine blocks. */
function looksLikeSky(
  { width, luminance, red, blue }: Pick<Grid, 'width' | 'luminance' | 'red' | 'blue'>,
  i: number,
  sky: MirroredSky,
  colours: Colours,
): boolean {
  const nine = (plane: Float32Array): number => {
    let sum = 0;
    for (let row = -width; row <= width; row += width)
      for (let k = i + row - 1; k <= i + row + 1; k++) sum += plane[k] ?? plane[i]!;
    return sum / 9;
  };
  const level = quickLog2(Math.max(0, nine(luminance)) + DARKEST);
  const grain = COLOUR_OF_SKY.grainy / Math.max(0.25, colourTrust(level));
  const under = sky.level - level;
  return under > DARKER_THAN_LIT || isLikeSky(sky, colours, under, warmthOfLight(nine(red), nine(blue)), grain);
}

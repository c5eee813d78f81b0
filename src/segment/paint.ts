import { boxBlur, rowsAround } from '../math/raster.js';
import { quickLog2 } from '../math/quickLog2.js';
import { quantile } from '../math/statistics.js';
import { LEAST_PAINTED, REGION, type Grid, type LandLight } from '../model/regions.js';
import { BLACK_STOPS, colourTrust, mixedWarmth, redPart, shareOf, warmthOfLight } from '../physics/twoLights.js';
import { leaveOutShadows } from './shadows.js';
import { surelyUnlit, unlitLand, type CalmLand, type UnlitLand } from './unlitLand.js';
import { mirroringWater } from './water.js';

/** Without anything better, ambient light on land is this far under the sky (reflectance near 0.16 under an open sky). */
const AMBIENT_UNDER_SKY_STOPS = 3;

/** No ambient light, not even a full Moon's, lights land more than this over the sky; and burnt land has lost its colour. */
const MOONLIGHT_OVER_SKY_STOPS = 1.6;

/** Lamp and sky must differ by this much in log2(R/B) before colour can tell their light apart. */
const COLOUR_APART = 0.5;
/** And lamp-lit land from unlit land by this much: ground as warm as the lamp hides its light's colour. */
const GROUND_APART = 0.15;

/**
 * Splits foreground into painted (lamp light is the greater part) and unlit, on light averaged over a few blocks of land.
 * Witnesses: level (lamp light as strong as ambient adds one stop), colour (half lamp, half ambient) and, where a network has seen the frame,
 * its log odds of each block's being painted (`seen`). Writes REGION values into `mask` where it holds foreground, and returns the land's
 * light (null where there is too little land).
 */
export function splitPaint(grid: Grid, mask: Uint8Array, seen: Float32Array | null = null): LandLight | null {
  const sky = meanColour(grid, mask);
  const { land, water } = landWithoutWater(grid, mask, sky);
  if (land.sample.length < 50) return null;
  const levels = land.sample.map((i) => land.level[i]!);
  const dimLevel = quantile(levels, 0.08);
  const holding = levels.filter((level) => level < HOLDS_COLOUR_STOPS);
  const burnt = 1 - holding.length / levels.length;
  // Beside burnt land lies land lit by the same lamp that still shows its colour.
  const besideBurnt = Math.max(BESIDE_BURNT.stops, Math.min(BESIDE_BURNT.most, dimLevel + BESIDE_BURNT.overDim));
  const brightLevel = holding.length === 0 ? 0 : burnt > SOME_BURNT ? besideBurnt : quantile(holding, 0.93);
  const isBright = (level: number): boolean => level >= brightLevel && level < HOLDS_COLOUR_STOPS;
  const top = warmthOf(land, isBright);
  const dim = warmthOf(land, (level) => level <= dimLevel + 0.3);
  const skyWarmth = sky === null ? null : Math.log2(sky.red / sky.blue);
  const skyLevel = sky === null ? null : Math.log2(sky.luminance);
  const skyLight = skyLevel === null || skyWarmth === null ? null : { level: skyLevel, warmth: skyWarmth };
  const warmer = top !== null && skyWarmth !== null && top - GREYER * skyWarmth > COLOUR_APART;
  const surely = seen === null ? null : surelyUnlit(land, seen, skyLight);
  const unlit = surely ?? unlitLand(land, dimLevel, skyLevel, warmer ? top : null);
  const coloured = warmer && (unlit === null || top - unlit.warmth > GROUND_APART);
  const dimmest = ambientOf(dimLevel, dim, warmer ? { lamp: top, sky: skyWarmth } : null, skyLevel);
  const { ambient, ambientWarmth, dimIsAmbient } =
    surely !== null ? ambientIs(surely) : unlit === null ? dimmest : withUnlit(dimmest, unlit);
  const slack = skyLevel === null ? STARLIT_SLACK : slackOf(ambient - (skyLevel - STARLIT_UNDER_SKY_STOPS));
  const lamp = coloured ? unmixed(top, ambientWarmth, brightLevel - ambient + slack) : 0;
  const halfway = coloured ? mixedWarmth(lamp, ambientWarmth) : 0;
  const brightest = skyLevel === null ? HOLDS_COLOUR_STOPS : Math.max(skyLevel + MOONLIGHT_OVER_SKY_STOPS, ambient + 2);
  const apart = Math.max(0.35, (lamp - ambientWarmth) / 2);
  const colours = coloured ? { halfway, apart, says: dimIsAmbient ? 0.7 : 0.6 } : null;
  const light = { ambient, brightest: Math.min(HOLDS_COLOUR_STOPS, brightest), colours };
  const least = surely === null ? BLACK_STOPS : Math.max(BLACK_STOPS, ambient + LEAST_OVER_UNLIT_STOPS);
  markPainted(mask, land, water, { ...light, seen });
  if (isUnder(least, grid, mask)) {
    takeBack(mask);
    // What the network saw is mostly other ground; where lamp light has a colour of its own, it may still show what is lit.
    if (surely !== null && coloured) {
      markPainted(mask, land, water, { ...light, seen: null });
      if (isUnder(least, grid, mask)) takeBack(mask);
    }
  }
  leaveOutShadows(grid, mask, land.level, ambient);
  if (isTrace(mask)) takeBack(mask);
  const { level, warmth } = land;
  const colourPair = coloured ? { ambient: ambientWarmth, lamp } : null;
  const told = { ambientStops: surely?.ambientStops ?? ambient, unlitIsSeen: surely !== null };
  return { ...told, level, warmth, colours: colourPair, water };
}

/** What tells lamp light on a block: levels in stops, colours as log2(R/B). */
interface Witnesses {
  readonly ambient: number;
  /** What is brighter is painted whatever its colour. */
  readonly brightest: number;
  /** Half lamp and half ambient light, half of what lies between the two lights, and how much is left to the level. */
  readonly colours: { readonly halfway: number; readonly apart: number; readonly says: number } | null;
  readonly seen: Float32Array | null;
}

function markPainted(
  mask: Uint8Array,
  { level, warmth }: CalmLand,
  water: Uint8Array | null,
  { ambient, brightest, colours, seen }: Witnesses,
): void {
  for (let i = 0; i < mask.length; i++) {
    if (mask[i] !== REGION.unlit || water?.[i] === 1) continue;
    const own = level[i]!;
    if (own > brightest) {
      mask[i] = REGION.painted;
      continue;
    }
    let score = (own - ambient - 1) / 0.8;
    if (colours !== null) {
      const tinted = Math.max(-2.5, Math.min(2.5, (1.6 * (warmth[i]! - colours.halfway)) / colours.apart));
      score = Math.max(-2, Math.min(2, score)) * colours.says + colourTrust(own) * tinted;
    }
    if (seen !== null) score = seen[i]! + LIGHT_SAYS * Math.max(-LIGHT_AT_MOST, Math.min(LIGHT_AT_MOST, score));
    if (score > 0 && own > BLACK_STOPS) mask[i] = REGION.painted;
  }
}

/** How much level and colour of the block itself add to the network's log odds: edges finer than it sees. */
const LIGHT_SAYS = 0.7;
const LIGHT_AT_MOST = 2.5;

function takeBack(mask: Uint8Array): void {
  for (let i = 0; i < mask.length; i++) if (mask[i] === REGION.painted) mask[i] = REGION.unlit;
}

/** Lamp light as strong as ambient light adds a stop: what is hardly lighter than unlit land on the whole is other ground. */
const LEAST_OVER_UNLIT_STOPS = 0.5;

/** Most of what was taken for paint is darker. Where it is black: the rim of a silhouette, with light of the sky in its averages. */
function isUnder(stops: number, { luminance }: Grid, mask: Uint8Array): boolean {
  const lights: number[] = [];
  for (let i = 0; i < mask.length; i += 7) if (mask[i] === REGION.painted) lights.push(luminance[i]!);
  return lights.length > 0 && quantile(lights, 0.5) < 2 ** stops;
}

function isTrace(mask: Uint8Array): boolean {
  let painted = 0;
  for (const region of mask) if (region === REGION.painted) painted++;
  return painted < LEAST_PAINTED * mask.length;
}

/** Water is left out of the land's averages and statistics; its own light is kept. */
function landWithoutWater(
  grid: Grid,
  mask: Uint8Array,
  sky: { luminance: number } | null,
): { land: CalmLand; water: Uint8Array | null } {
  const all = calmLand(grid, mask, null);
  const water = sky === null ? null : mirroringWater(grid, all, mask, Math.log2(sky.luminance));
  if (water === null) return { land: all, water };
  const land = calmLand(grid, mask, water);
  return land.sample.length < 50 ? { land: all, water: null } : { land, water };
}

/** Over this a mean of blocks may hold clipped channels, and its colour is not the light's. */
const HOLDS_COLOUR_STOPS = -0.8;

const SOME_BURNT = 0.02;
/** Where the lamp is all but alone: well over the dimmest land. */
const BESIDE_BURNT = { stops: -2.5, overDim: 1.2, most: -1.5 };

/** log2(R/B) of lamp light alone, from land that many stops over ambient light which has its part in it. */
function unmixed(mixture: number, ambientWarmth: number, overStops: number): number {
  const share = Math.max(LEAST_LAMP_PART, 1 - 2 ** -Math.max(0, overStops));
  const [mixed, other] = [redPart(mixture), redPart(ambientWarmth)];
  const red = Math.min(MOST_RED, Math.max(mixed, other + (mixed - other) / share));
  return Math.log2(red / (1 - red));
}

/** Starlight has no part worth taking off in the brightest land, and less is known of it than of the Moon's light. */
const STARLIT_SLACK = 1.5;
const MOONLIT_SLACK = 0.3;

/** `bright`: ambient light over what stars leave, stops. */
function slackOf(bright: number): number {
  const moonlit = Math.max(0, Math.min(1, bright / TOO_BRIGHT_FOR_STARS));
  return STARLIT_SLACK + (MOONLIT_SLACK - STARLIT_SLACK) * moonlit;
}

const LEAST_LAMP_PART = 0.4;
const MOST_RED = 0.85;

/** Land mixes the light of the whole sky: its ambient colour (log2 R/B) is this part of the colour of the sky in the frame. */
const GREYER = 0.6;
/** And its own reflectance may warm that by so much where it is as dark as open starlight leaves it, by less the brighter it is. */
const WARMER = { usual: 0.3, perStop: -0.25, least: 0.05, most: 0.5 };
const STARLIT_UNDER_SKY_STOPS = 2.3;

/** Darker than this, colour is grain. */
const COLOURLESS_STOPS = -11;

interface AmbientLight {
  /** Level of land without lamp light, stops, and its log2(R/B). */
  readonly ambient: number;
  readonly ambientWarmth: number;
  readonly dimIsAmbient: boolean;
}

/**
 * Ambient light on the land from its dimmest part: what is warmer there than ambient light can be is lamp light, and taken off. Where nearly all
 * of it is lamp light, the sky tells.
 */
function ambientOf(
  dimLevel: number,
  dim: number | null,
  colours: { lamp: number; sky: number } | null,
  skyLevel: number | null,
): AmbientLight {
  if (colours === null || dim === null || dimLevel < COLOURLESS_STOPS)
    return { ambient: dimLevel, ambientWarmth: GREYER * (colours?.sky ?? 0), dimIsAmbient: true };
  const own = GREYER * colours.sky;
  const bright = skyLevel === null ? 0 : dimLevel - (skyLevel - STARLIT_UNDER_SKY_STOPS);
  const warmer = Math.max(WARMER.least, Math.min(WARMER.most, WARMER.usual + WARMER.perStop * bright));
  const ambientWarmth = Math.min(dim, own + warmer);
  const lampShare = shareOf(dim, ambientWarmth, colours.lamp);
  const noMoon = bright > TOO_BRIGHT_FOR_STARS && colours.sky > MOONLIT_SKY;
  if (skyLevel !== null && (lampShare > MOSTLY_LAMP || noMoon))
    return { ambient: Math.min(dimLevel, skyLevel - AMBIENT_UNDER_SKY_STOPS), ambientWarmth: own, dimIsAmbient: false };
  return { ambient: dimLevel + Math.log2(1 - Math.min(MOSTLY_LAMP, lampShare)), ambientWarmth, dimIsAmbient: true };
}

function ambientIs({ level, warmth }: UnlitLand): AmbientLight {
  return { ambient: level, ambientWarmth: warmth, dimIsAmbient: true };
}

/** Where unlit land shows itself, it tells the ambient light better than the dimmest land does. */
function withUnlit(dimmest: AmbientLight, { level, warmth }: UnlitLand): AmbientLight {
  return { ...dimmest, ambient: level, ambientWarmth: Math.max(dimmest.ambientWarmth, warmth) };
}

const MOSTLY_LAMP = 0.75;

/** Land so much brighter than starlight leaves it is lit by the Moon or by lamps; under the Moon the sky is blue, log2(R/B) under this. */
const TOO_BRIGHT_FOR_STARS = 1.3;
const MOONLIT_SKY = -0.7;

function calmLand(grid: Grid, mask: Uint8Array, water: Uint8Array | null): CalmLand {
  const { width, height } = grid;
  const reach = Math.max(1, Math.round(Math.max(width, height) / 200));
  const { from, to } = rowsAround(mask, width, REGION.unlit, reach);
  const first = from * width;
  const land = new Uint8Array((to - from) * width);
  for (let i = 0; i < land.length; i++) if (mask[first + i] === REGION.unlit) land[i] = 1;
  if (water !== null) for (let i = 0; i < land.length; i++) if (water[first + i] === 1) land[i] = 0;
  const kept = new Float32Array(land);
  const mean = (): Float32Array => boxBlur(kept, width, to - from, reach);
  const only = (plane: Float32Array): Float32Array => {
    for (let i = 0; i < land.length; i++) if (land[i] === 1) kept[i] = plane[first + i]!;
    return mean();
  };
  const support = mean();
  const light = only(grid.luminance);
  const red = only(grid.red);
  const blue = only(grid.blue);
  const level = new Float32Array(width * height);
  const warmth = new Float32Array(width * height);
  const sample: number[] = [];
  let seen = 0;
  for (let i = 0; i < land.length; i++) {
    if (land[i] === 0) continue;
    const share = Math.max(1e-6, support[i]!);
    level[first + i] = quickLog2(Math.max(DARKEST, light[i]! / share));
    warmth[first + i] = warmthOfLight(red[i]! / share, blue[i]! / share);
    if (seen++ % 17 === 0) sample.push(first + i);
  }
  return { level, warmth, sample };
}

/** Light under which nothing is told. */
const DARKEST = 2 ** -15;

function warmthOf(land: CalmLand, wanted: (level: number) => boolean): number | null {
  const values = land.sample.filter((i) => wanted(land.level[i]!)).map((i) => land.warmth[i]!);
  return values.length < 12 ? null : quantile(values, 0.5);
}

function meanColour(grid: Grid, mask: Uint8Array): { red: number; blue: number; luminance: number } | null {
  const levels: number[] = [];
  let red = 0;
  let blue = 0;
  for (let i = 0; i < mask.length; i += 11) {
    if (mask[i] !== REGION.sky) continue;
    red += grid.red[i]!;
    blue += grid.blue[i]!;
    levels.push(grid.luminance[i]!);
  }
  if (levels.length < 50) return null;
  const floor = 2 ** -13.5;
  return {
    red: red / levels.length + floor,
    blue: blue / levels.length + floor,
    luminance: Math.max(floor, quantile(levels, 0.5)),
  };
}

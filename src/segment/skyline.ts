import { fillSmooth } from '../math/fillSmooth.js';
import { quickLog2 } from '../math/quickLog2.js';
import { boxBlur, smooth } from '../math/raster.js';
import type { Cells } from './cells.js';
import { passageFrom, stepsOf } from './passage.js';
import { bestPath, edgeStrength } from './skylinePath.js';

/** What the sky looks like everywhere, also behind things: a smooth surface of level and colour, in cells. */
interface SkySurface {
  readonly level: Float32Array;
  readonly redness: Float32Array;
  readonly blueness: Float32Array;
}

export interface Skyline {
  /** First row (cells) of foreground in each column. */
  readonly rows: Float32Array;
  readonly sky: SkySurface;
  /** Evidence per cell, log odds for foreground, without position. */
  readonly evidence: Float32Array;
  /** 1 where the sky is open: sky-like cells joined to the sky above the line. */
  readonly open: Uint8Array;
}

/** Drawing the line and fitting the sky again settles in a few rounds, mostly in two. */
const ROUNDS = 3;

/** Stars over a wide window below this density say nothing either way. */
const FEW_POINTS = 0.004;

/**
 * The line between sky and ground, column by column: the path that leaves most sky-like cells above and most
 * ground-like cells below, and follows edges. Solved exactly by dynamic programming; the sky's surface is then
 * fitted above it and the line drawn again.
 */
export function findSkyline(cells: Cells): Skyline {
  const looks = looksOf(cells);
  const still = stillEvidence(looks);
  const edges = edgeStrength(cells);
  const steps = stepsOf(cells);
  let rows = bestPath(cells, withPosition(cells, still), edges);
  let sky = fitSky(cells, still, rows);
  let evidence = still;
  for (let round = 0; round < ROUNDS; round++) {
    const learned = frameEvidence(cells, looks, rows);
    const own = new Float32Array(still.length);
    for (let i = 0; i < own.length; i++) own[i] = 0.7 * still[i]! + 0.7 * learned[i]!;
    evidence = addMismatch(cells, own, sky, passageFrom(steps, cells.width, surestSky(cells, evidence, rows)));
    const before = rows;
    rows = bestPath(cells, withPosition(cells, evidence), edges);
    sky = fitSky(cells, evidence, rows);
    if (round > 0 && hasSettled(before, rows)) break;
  }
  return { rows, sky, evidence, open: openSky(cells, evidence, rows) };
}

/** Hardly a column in fifty has moved by more than a cell. */
function hasSettled(before: Float32Array, rows: Float32Array): boolean {
  let moved = 0;
  for (let x = 0; x < rows.length; x++) if (Math.abs(rows[x]! - before[x]!) > 1) moved++;
  return moved <= rows.length / 50;
}

/** Features of a cell that need no model of the sky, each smoothed a little. */
interface Looks {
  readonly texture: Float32Array;
  /** log2 of the variance of level at the scale of cells, stops squared. */
  readonly roughness: Float32Array;
  /** Points of light per cell over a wide window. */
  readonly density: Float32Array;
}

function looksOf(cells: Cells): Looks {
  const { width, height, level } = cells;
  const around = boxBlur(level, width, height, 2);
  const deviation = new Float32Array(level.length);
  const texture = new Float32Array(level.length);
  for (let i = 0; i < level.length; i++) {
    const burnt = level[i]! > BURNT_STOPS;
    deviation[i] = burnt ? 0.06 : Math.min(1, (level[i]! - around[i]!) ** 2);
    texture[i] = burnt ? 1.2 : cells.texture[i]!;
  }
  const roughness = boxBlur(deviation, width, height, 2);
  for (let i = 0; i < roughness.length; i++) roughness[i] = quickLog2(roughness[i]! + 1e-5);
  return {
    texture: boxBlur(texture, width, height, 1),
    roughness,
    density: smooth(cells.points, width, height, Math.round(width / 24)),
  };
}

/** Cells burnt out have lost their texture: at night that is paint, not sky. */
const BURNT_STOPS = -0.2;

/** Log odds for foreground from what a cell is by itself: texture, roughness at a larger scale, no stars. */
function stillEvidence(looks: Looks): Float32Array {
  const { texture, roughness, density } = looks;
  const sorted = Float32Array.from(density).sort();
  const rich = Math.max(FEW_POINTS, sorted[Math.floor(sorted.length * 0.85)]!);
  const trust = Math.min(1, Math.max(0, rich / FEW_POINTS - 1) / 6);
  const out = new Float32Array(density.length);
  for (let i = 0; i < out.length; i++) {
    const grainy = Math.max(-0.5, Math.min(1.6, (texture[i]! - 0.6) * 1.2));
    const rough = Math.max(-0.6, Math.min(1.4, (roughness[i]! + 6.6) * 0.3));
    const starry = trust * Math.max(-1.2, Math.min(0.5, 0.5 - 3 * (density[i]! / rich)));
    out[i] = 0.7 * grainy + 0.7 * rough + 0.8 * starry;
  }
  return out;
}

/**
 * Log odds for foreground learned from this very frame: how often each value of a feature occurs below the present
 * skyline and above it (naive Bayes on smoothed counts).
 */
function frameEvidence(cells: Cells, looks: Looks, rows: Float32Array): Float32Array {
  const planes: [Float32Array, number, number][] = [
    [looks.texture, -1, 3],
    [looks.roughness, -15, -1],
    [looks.density, 0, 0.3],
  ];
  const out = new Float32Array(cells.level.length);
  for (const [plane, low, high] of planes) {
    const odds = valueOdds(cells, plane, low, high, rows);
    for (let i = 0; i < out.length; i++) out[i]! += 0.6 * odds[binOf(plane[i]!, low, high)]!;
  }
  for (let i = 0; i < out.length; i++) out[i] = Math.max(-1.6, Math.min(2.2, out[i]!));
  return out;
}

const BINS = 28;

function binOf(value: number, low: number, high: number): number {
  return Math.max(0, Math.min(BINS - 1, Math.floor(((value - low) / (high - low)) * BINS)));
}

function valueOdds(cells: Cells, plane: Float32Array, low: number, high: number, rows: Float32Array): number[] {
  const sky = new Float32Array(BINS);
  const land = new Float32Array(BINS);
  for (let y = 0; y < cells.height; y++)
    for (let x = 0; x < cells.width; x++) (y < rows[x]! ? sky : land)[binOf(plane[y * cells.width + x]!, low, high)]!++;
  const skyShare = boxBlur(sky, BINS, 1, 1);
  const landShare = boxBlur(land, BINS, 1, 1);
  const total = (counts: Float32Array): number => counts.reduce((sum, count) => sum + count, 0) + 1;
  const skyTotal = total(skyShare);
  const landTotal = total(landShare);
  // A fiftieth of evenly spread pseudo counts keeps rare values from deciding.
  const odds = Array.from(skyShare, (count, bin) =>
    Math.log((landShare[bin]! / landTotal + 0.02 / BINS + 0.003) / (count / skyTotal + 0.02 / BINS + 0.003)),
  );
  return odds.map((value) => Math.max(-2, Math.min(2, value)));
}

function surestSky(cells: Cells, evidence: Float32Array, rows: Float32Array): Uint8Array {
  const { width, height } = cells;
  const surest = new Uint8Array(evidence.length);
  for (let y = 0, i = 0; y < height; y++)
    for (let x = 0; x < width; x++, i++) if (evidence[i]! < -0.4 && y < rows[x]! - 2) surest[i] = 1;
  return surest;
}

/**
 * Adds how far a cell is from the sky's surface. What is brighter than the surface but reached from the sky without an
 * edge (glow, cloud, Milky Way) is held against it only in part; what is darker is not excused.
 */
function addMismatch(cells: Cells, still: Float32Array, sky: SkySurface, passage: Float32Array): Float32Array {
  const out = new Float32Array(still.length);
  for (let i = 0; i < still.length; i++) {
    const dim = Math.max(0, Math.min(1, (-9 - cells.level[i]!) / 3));
    const dl = (cells.level[i]! - sky.level[i]!) / 0.24;
    const dr = (cells.redness[i]! - sky.redness[i]!) / (0.16 + 0.3 * dim);
    const db = (cells.blueness[i]! - sky.blueness[i]!) / (0.2 + 0.4 * dim);
    const behindEdge = Math.max(0, Math.min(1, (passage[i]! - 0.1) / 0.25));
    const excuse = dl > -1.5 ? behindEdge : Math.max(behindEdge, Math.min(1, (-1.5 - dl) / 4));
    const distance = 0.5 * (dl * dl + dr * dr + db * db) * excuse;
    out[i] = still[i]! + Math.max(-1.3, Math.min(3, distance - 1.6));
  }
  return out;
}

function withPosition(cells: Cells, evidence: Float32Array): Float32Array {
  const out = new Float32Array(evidence.length);
  for (let y = 0; y < cells.height; y++) {
    const down = (y + 0.5) / cells.height;
    const prior = down < 0.5 ? -1.4 + 2.2 * down : -0.3 + 3.2 * (down - 0.5);
    for (let x = 0; x < cells.width; x++) out[y * cells.width + x] = evidence[y * cells.width + x]! + 0.7 * prior;
  }
  return out;
}

function fitSky(cells: Cells, evidence: Float32Array, rows: Float32Array): SkySurface {
  const { width, height } = cells;
  const weight = new Float32Array(width * height);
  for (let y = 0; y < height; y++)
    for (let x = 0; x < width; x++) {
      const i = y * width + x;
      if (y < rows[x]! - 1) weight[i] = 1 / (1 + Math.exp(2.5 * evidence[i]!));
    }
  let any = 0;
  for (const w of weight) any += w;
  if (any < 20) for (let i = 0; i < Math.min(weight.length, width * Math.ceil(height / 4)); i++) weight[i] = 1;
  if (any >= 20) {
    const open = openSky(cells, evidence, rows);
    for (let i = 0; i < open.length; i++) if (open[i] === 1) weight[i] = Math.max(weight[i]!, 0.5);
  }
  const radius = Math.max(2, Math.round(width / 26));
  const [level, redness, blueness] = fillSmooth(
    [cells.level, cells.redness, cells.blueness],
    weight,
    width,
    height,
    radius,
  ) as [Float32Array, Float32Array, Float32Array];
  return { level, redness, blueness };
}

/** Cells that look like sky and are reached from above the skyline through such cells alone, round and under what stands up. */
function openSky(cells: Cells, evidence: Float32Array, rows: Float32Array): Uint8Array {
  const { width } = cells;
  const open = new Uint8Array(evidence.length);
  const stack: number[] = [];
  const visit = (i: number): void => {
    if (i < 0 || i >= open.length || open[i] === 1 || evidence[i]! > -0.6) return;
    open[i] = 1;
    stack.push(i);
  };
  for (let i = 0; i < open.length; i++) if (Math.floor(i / width) < rows[i % width]! - 1) visit(i);
  while (stack.length > 0) {
    const i = stack.pop()!;
    if (i % width > 0) visit(i - 1);
    if (i % width < width - 1) visit(i + 1);
    visit(i - width);
    visit(i + width);
  }
  return open;
}

/** Where the land would meet the sky without the things that stand up: the lowest skyline nearby. */
export function baseline(rows: Float32Array): Float32Array {
  const width = rows.length;
  const reach = Math.round(width * 0.28);
  const low = new Float32Array(width);
  for (let x = 0; x < width; x++) {
    const near = rows.slice(Math.max(0, x - reach), Math.min(width, x + reach + 1)).sort();
    low[x] = Math.max(rows[x]!, near[Math.floor(near.length * 0.85)]!);
  }
  return low;
}

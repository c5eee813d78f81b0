import { seededRandom, type Random } from '../../math/random.js';
import { fractalNoise } from '../../math/texture.js';
import { Coverage } from '../canvas.js';
import type { Outline, SceneSpec, WiderSpec } from '../spec.js';
import { drawFigure } from './figure.js';
import { drawTree } from './tree.js';

interface Place {
  readonly ground: Coverage;
  readonly subject: Coverage;
  readonly skylineRow: Float32Array;
  readonly random: Random;
}

/** A skyline of any height and roughness: plains, dunes, crags. */
export function widerSkyline(spec: SceneSpec, wider: WiderSpec, horizonRow: number): Float32Array {
  const { widthPx: width, heightPx: height, seed } = spec;
  const rows = new Float32Array(width);
  const smooth = wider.outline === 'smooth';
  for (let x = 0; x < width; x++) {
    const wide = fractalNoise((x / width) * 2.5 + 0.5, 0.5, seed + 5, smooth ? 2 : 7, smooth ? 0.35 : 0.55);
    const row = horizonRow - height * (wider.rise + wider.rough * wide);
    rows[x] = Math.min(height * 0.99, Math.max(height * 0.03, row));
  }
  return rows;
}

/** Ridges behind the skyline; returns how far haze veils each pixel. The farther, the paler. */
export function farRidges(spec: SceneSpec, ground: Coverage, skylineRow: Float32Array): Float32Array {
  const { widthPx: width, heightPx: height, seed, wider } = spec;
  const veil = new Float32Array(width * height);
  if (wider === undefined) return veil;
  for (let n = 0; n < wider.farRidges; n++) {
    const before = Float32Array.from(ground.alpha);
    const lift = height * (0.02 + 0.05 * (n + 1));
    ground.columns(
      (x) => {
        const wide = fractalNoise((x / width) * (3 + n) + 9 * n, 4.5, seed + 91 + n, 6, 0.5);
        return Math.max(2, skylineRow[Math.min(width - 1, x)]! + height * 0.03 - lift * (0.6 + 1.4 * wide));
      },
      () => height,
      0,
      width,
    );
    const pale = 1 - (1 - wider.haze) ** (n + 1);
    for (let i = 0; i < veil.length; i++) if (before[i]! < 0.5 && ground.alpha[i]! > 0) veil[i] = pale;
  }
  return veil;
}

/** Draws what stands on or before the skyline. */
export function drawOutline(outline: Outline, spec: SceneSpec, place: Place): void {
  if (outline === 'forest') forest(spec, place);
  if (outline === 'town') town(spec, place);
  if (outline === 'rocks') rocks(spec, place);
  if (outline === 'mast') masts(spec, place);
  if (outline === 'cave') cave(spec, place);
  if (outline === 'canopy') canopy(spec, place);
  if (outline === 'people') people(spec, place);
}

function footAt(spec: SceneSpec, place: Place, x: number): number {
  return place.skylineRow[Math.max(0, Math.min(spec.widthPx - 1, Math.round(x)))]!;
}

/** A treeline: pointed or round crowns close together. */
function forest(spec: SceneSpec, place: Place): void {
  const { widthPx: width, heightPx: height, seed } = spec;
  const { random, ground } = place;
  const tall = height * random.between(0.03, 0.3);
  const pointed = random.next() < 0.6;
  const step = tall * random.between(0.12, 0.4);
  const from = random.next() < 0.6 ? 0 : random.between(0, 0.5) * width;
  const to = random.next() < 0.6 ? width : from + random.between(0.2, 0.6) * width;
  for (let x = from; x < to; x += step * random.between(0.5, 1.5)) {
    const foot = footAt(spec, place, x) + tall * 0.1;
    const own = tall * random.between(0.4, 1.1);
    const half = own * (pointed ? random.between(0.12, 0.25) : random.between(0.25, 0.45));
    const rough = random.between(0.1, 0.4);
    ground.columns(
      (column) => {
        const along = Math.abs(column - x) / half;
        const shape = pointed ? 1 - along : Math.sqrt(Math.max(0, 1 - along * along));
        return foot - own * Math.max(0, shape + rough * 0.5 * fractalNoise(column / 5, x / 3, seed + 3, 3));
      },
      () => foot + tall * 0.2,
      x - half,
      x + half,
    );
  }
}

/** Houses with pitched or flat roofs, chimneys, now and then a dome or a tower. */
function town(spec: SceneSpec, place: Place): void {
  const { widthPx: width, heightPx: height } = spec;
  const { random, ground, subject } = place;
  const canvas = random.next() < 0.5 ? subject : ground;
  const tall = height * random.between(0.05, 0.35);
  const count = 1 + Math.floor(random.next() ** 2 * 14);
  for (let n = 0; n < count; n++) {
    const wide = tall * random.between(0.4, 1.6);
    const x = random.between(-wide, width);
    const high = tall * random.between(0.4, 1);
    const foot = footAt(spec, place, x + wide / 2) + tall * 0.3;
    const roof = random.next();
    canvas.columns(
      (column) => {
        const along = ((column - x) / wide) * 2 - 1;
        const top = roof < 0.5 ? 0.35 * (1 - Math.abs(along)) : roof < 0.65 ? 0.6 * Math.sqrt(1 - along * along) : 0;
        return foot - high * (0.8 + top);
      },
      () => foot + height * 0.15,
      x,
      x + wide,
    );
    if (random.next() < 0.5) {
      const cx = x + wide * random.between(0.2, 0.8);
      canvas.columns(
        () => foot - high * random.between(1.15, 1.2),
        () => foot,
        cx,
        cx + wide * random.between(0.04, 0.1),
      );
    }
  }
}

/** Boulders and pinnacles near the camera, some as high as the frame. */
function rocks(spec: SceneSpec, place: Place): void {
  const { widthPx: width, heightPx: height, seed } = spec;
  const { random, subject } = place;
  const count = 1 + Math.floor(random.between(0, 5));
  for (let n = 0; n < count; n++) {
    const x = random.between(0, width);
    const half = width * random.between(0.03, 0.25);
    const high = height * random.between(0.08, 0.8);
    const foot = Math.max(footAt(spec, place, x), height * random.between(0.6, 0.95));
    const power = random.between(1.2, 6);
    subject.columns(
      (column) => {
        const along = Math.min(1, Math.abs(column - x) / half);
        const bump = fractalNoise(column / (half * 0.4), n * 5.1, seed + 7, 6, 0.55);
        return foot - high * (1 - along ** power) * (1 + 0.35 * bump);
      },
      () => foot + height * 0.1,
      x - half,
      x + half,
    );
  }
}

/** Poles, wires, masts and towers: thin and tall. */
function masts(spec: SceneSpec, place: Place): void {
  const { widthPx: width, heightPx: height } = spec;
  const { random, subject } = place;
  const count = 1 + Math.floor(random.between(0, 5));
  const tops: { x: number; y: number }[] = [];
  for (let n = 0; n < count; n++) {
    const x = random.between(0, width);
    const foot = footAt(spec, place, x) + height * 0.05;
    const top = foot - height * random.between(0.1, 0.7);
    const half = width * random.between(0.001, 0.02);
    subject.limb(x, foot, half, x + random.between(-0.01, 0.01) * width, top, half * random.between(0.3, 1));
    if (random.next() < 0.5) subject.ellipse(x, top, half * random.between(1, 4), half * random.between(1, 3));
    tops.push({ x, y: top });
  }
  if (random.next() < 0.6)
    tops.slice(1).forEach((at, n) => {
      subject.limb(tops[n]!.x, tops[n]!.y, 0.8, at.x, at.y, 0.8);
    });
}

/** Sky seen out of a cave or an arch: land all round. */
function cave(spec: SceneSpec, place: Place): void {
  const { widthPx: width, heightPx: height, seed } = spec;
  const { random, subject } = place;
  const cx = width * random.between(0.25, 0.75);
  const cy = height * random.between(0.3, 0.65);
  const rx = width * random.between(0.2, 0.55);
  const ry = height * random.between(0.25, 0.55);
  const open = random.next() < 0.3;
  for (let y = 0; y < height; y++)
    for (let x = 0; x < width; x++) {
      const angle = Math.atan2(y - cy, x - cx);
      const rough = 1 + 0.3 * fractalNoise(Math.cos(angle) * 3, Math.sin(angle) * 3, seed + 9, 5);
      const out = Math.hypot((x - cx) / rx, (y - cy) / ry) / rough;
      const alpha = Math.max(0, Math.min(1, (out - 1) * Math.min(rx, ry)));
      const i = y * width + x;
      if (open && y > cy) continue;
      if (alpha > subject.alpha[i]!) subject.alpha[i] = alpha;
    }
}

/** Branches that hang into the frame from outside it, or a trunk at its edge. */
function canopy(spec: SceneSpec, place: Place): void {
  const { widthPx: width, heightPx: height } = spec;
  const { random, subject } = place;
  const turned = new Coverage(width, height);
  const count = 1 + Math.floor(random.between(0, 3));
  for (let n = 0; n < count; n++)
    drawTree(turned, random, {
      footX: random.between(-0.1, 1.1) * width,
      footY: height * random.between(0.98, 1.1),
      heightPx: height * random.between(0.3, 0.9),
      leafy: random.next() < 0.7,
    });
  const upsideDown = random.next() < 0.6;
  for (let y = 0; y < height; y++)
    for (let x = 0; x < width; x++) {
      const alpha = turned.alpha[(upsideDown ? height - 1 - y : y) * width + x]!;
      const i = y * width + x;
      if (alpha > subject.alpha[i]!) subject.alpha[i] = alpha;
    }
}

function people(spec: SceneSpec, place: Place): void {
  const { widthPx: width, heightPx: height } = spec;
  const { random, subject } = place;
  const own = seededRandom(spec.seed * 17 + 5);
  const count = 1 + Math.floor(random.between(0, 4));
  for (let n = 0; n < count; n++)
    drawFigure(subject, own, {
      x: random.between(0, width),
      footY: height * random.between(0.75, 1.15),
      heightPx: height * random.between(0.15, 0.9),
    });
}

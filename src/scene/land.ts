import { seededRandom } from '../math/random.js';
import { fractalNoise } from '../math/texture.js';
import { localToCamera, unrotate } from '../physics/projection.js';
import { Coverage } from './canvas.js';
import type { SceneSpec, WiderSpec } from './spec.js';
import { drawFence } from './subjects/fence.js';
import { drawFigure } from './subjects/figure.js';
import { drawRuin } from './subjects/ruin.js';
import { drawTree } from './subjects/tree.js';
import { drawOutline, farRidges, widerSkyline } from './subjects/outlines.js';

/** What is there without any light: coverage, positions in metres (camera at the origin, z up), reflectance. */
export interface Land {
  /** 0 = open sky, 1 = land or subject. */
  readonly cover: Float32Array;
  /** Position of the surface in each pixel, x right, y forward, z up; 3 per pixel. */
  readonly position: Float32Array;
  readonly reflectance: Float32Array;
  /** log2(R/B) of the reflectance; null where land is grey. */
  readonly warmth: Float32Array | null;
  /** 1 where the surface stands upright (subject, hill face), 0 where it lies flat. */
  readonly upright: Uint8Array;
  /** How far haze before the land lends it the sky's light, 0 to 1. */
  readonly veil: Float32Array;
  /** Rows of mirror water: pixel shows the sky at this row; -1 elsewhere. */
  readonly mirrorRow: Int32Array;
  readonly subject: { readonly x: number; readonly y: number; readonly metres: number };
  readonly skylineRow: Float32Array;
}

const EYE_HEIGHT_M = 1.5;

export function buildLand(spec: SceneSpec): Land {
  const { widthPx: width, heightPx: height, seed } = spec;
  const random = seededRandom(seed * 7 + 3);
  const focalPx = (spec.focalMm * 1000) / spec.pixelPitchUm;
  const frame = localToCamera(0, spec.altitudeDeg);
  const horizonRow = height / 2 + Math.tan((spec.altitudeDeg * Math.PI) / 180) * focalPx;
  const shoreRow = Math.min(height * 0.92, horizonRow);
  const skylineRow = skyline(spec, horizonRow);
  const ground = new Coverage(width, height);
  ground.columns(
    (x) => skylineRow[Math.min(width - 1, x)]!,
    () => height,
    0,
    width,
  );
  const subjectX = width * random.between(0.3, 0.7);
  const footRow = Math.min(
    height * 0.95,
    Math.max(skylineRow[Math.floor(subjectX)]! + height * 0.06, shoreRow + height * random.between(0.02, 0.08)),
  );
  const metres = random.between(6, 14);
  const subject = new Coverage(width, height);
  if (spec.wider !== undefined) drawOutline(spec.wider.outline, spec, { ground, subject, skylineRow, random });
  drawSubject(spec, subject, subjectX, footRow, skylineRow);

  const cover = new Float32Array(width * height);
  const position = new Float32Array(width * height * 3);
  const reflectance = new Float32Array(width * height);
  const warmth = spec.wider === undefined ? null : new Float32Array(width * height);
  const upright = new Uint8Array(width * height);
  const veil = farRidges(spec, ground, skylineRow);
  const mirrorRow = new Int32Array(width * height).fill(-1);
  const nearShore = spec.kind === 'water' ? height * random.between(0.86, 0.96) : height;
  const farMetres = 60;
  for (let y = 0; y < height; y++) {
    for (let x = 0; x < width; x++) {
      const i = y * width + x;
      const land = ground.alpha[i]!;
      const thing = subject.alpha[i]!;
      cover[i] = Math.max(land, thing);
      if (cover[i] <= 0) continue;
      const ray = unrotate(frame, [(x - width / 2) / focalPx, (y - height / 2) / focalPx, 1]);
      const level = Math.hypot(ray[0], ray[1]);
      let reach: number;
      if (thing >= 0.5) {
        reach = metres / level;
        upright[i] = 1;
      } else {
        const drop = -ray[2];
        const flat = drop > 0.01 ? EYE_HEIGHT_M / drop : farMetres * 2;
        const hill = y < horizonRow || flat > farMetres / level;
        reach = hill ? (farMetres / level) * (1 + Math.max(0, (horizonRow - y) / height) * 4) : flat;
        upright[i] = hill ? 1 : 0;
      }
      position[i * 3] = ray[0] * reach;
      position[i * 3 + 1] = ray[1] * reach;
      position[i * 3 + 2] = ray[2] * reach;
      reflectance[i] = surface(x, y, reach, spec, thing >= 0.5);
      if (spec.wider !== undefined && warmth !== null) {
        const patch = patchAt(x, y, spec.seed, spec.wider, thing >= 0.5);
        reflectance[i] *= 2 ** patch.stops;
        warmth[i] = patch.warmth;
      }
      if (
        spec.kind === 'water' &&
        thing < 0.5 &&
        y > horizonRow &&
        y < nearShore + 14 * fractalNoise(x / 90, 0, seed, 3)
      ) {
        mirrorRow[i] = Math.max(0, Math.round(2 * horizonRow - y));
      }
    }
  }
  return {
    cover,
    position,
    reflectance,
    warmth,
    upright,
    veil,
    mirrorRow,
    subject: { x: subjectX, y: footRow, metres },
    skylineRow,
  };
}

function skyline(spec: SceneSpec, horizonRow: number): Float32Array {
  const { widthPx: width, heightPx: height, seed, kind } = spec;
  const rows = new Float32Array(width);
  const rough = kind === 'ridge' ? 0.16 : kind === 'water' ? 0.03 : 0.05;
  const rise = kind === 'ridge' ? 0.12 : kind === 'water' ? 0.025 : 0.04;
  if (spec.wider !== undefined && kind !== 'water') return widerSkyline(spec, spec.wider, horizonRow);
  for (let x = 0; x < width; x++) {
    const wide = fractalNoise((x / width) * 3 + 0.5, 0.5, seed + 5, 6, 0.52);
    const bump = fractalNoise((x / width) * 40, 2.5, seed + 6, 3) * 0.006;
    const row = horizonRow - height * (rise + rough * wide + (kind === 'water' ? 0 : bump));
    rows[x] = Math.min(height * 0.97, Math.max(height * 0.12, kind === 'water' ? Math.min(row, horizonRow - 2) : row));
  }
  return rows;
}

function drawSubject(spec: SceneSpec, canvas: Coverage, x: number, footY: number, skylineRow: Float32Array): void {
  const random = seededRandom(spec.seed * 13 + 1);
  const { widthPx: width, heightPx: height } = spec;
  if (spec.kind === 'tree')
    drawTree(canvas, random, {
      footX: x,
      footY,
      heightPx: Math.min(footY * 0.95, height * random.between(0.5, 0.75)),
      leafy: random.next() < 0.4,
    });
  if (spec.kind === 'ruin') {
    const span = width * random.between(0.25, 0.5);
    drawRuin(canvas, random, {
      left: x - span / 2,
      right: x + span / 2,
      footY,
      heightPx: height * random.between(0.3, 0.5),
    });
  }
  if (spec.kind === 'figure') drawFigure(canvas, random, { x, footY, heightPx: height * random.between(0.2, 0.5) });
  if (spec.kind === 'fence')
    drawFence(canvas, random, {
      footOf: (column) => skylineRow[Math.max(0, Math.min(width - 1, Math.round(column)))]! + 3,
      heightPx: height * random.between(0.08, 0.16),
    });
}

/** Reflectance 0.03 to 0.5: coarse patches, fine grain that shrinks with distance, courses of stone on a ruin. */
function surface(x: number, y: number, metres: number, spec: SceneSpec, isSubject: boolean): number {
  const grain = fractalNoise(x / 7, y / 5, spec.seed + 21, 2);
  const patches = fractalNoise((x * metres) / 700, (y * metres) / 400, spec.seed + 22, 4, 0.6);
  let relief = 0.55 * patches + 0.35 * grain;
  if (isSubject && spec.kind === 'ruin') {
    const course = Math.floor(y / 22);
    const mortar = y % 22 < 2 || (x + course * 17) % 48 < 2;
    relief =
      0.3 * fractalNoise(Math.floor((x + course * 17) / 48) * 3.7, course * 1.9, spec.seed, 1) +
      0.3 * grain -
      (mortar ? 0.5 : 0);
  }
  if (spec.wider === undefined) return Math.min(0.6, 0.16 * 2 ** (1.3 * relief));
  const { relief: strength, markPx, snow } = spec.wider;
  const marks = fractalNoise(x / markPx, y / (markPx * (isSubject ? 1 : 0.7)), spec.seed + 23, 3, 0.6);
  return Math.max(0.01, Math.min(0.9, 0.16 * 2 ** (1.3 * strength * (0.6 * relief + 0.8 * marks)) * snow));
}

/** Patches with borders that are sharp in places, and smaller ones in them. */
function patchAt(
  x: number,
  y: number,
  seed: number,
  { patches }: WiderSpec,
  isSubject: boolean,
): { stops: number; warmth: number } {
  const size = patches.sizePx;
  const own = seed + (isSubject ? 131 : 31);
  const wide = Math.tanh(5 * fractalNoise(x / size, (1.6 * y) / size, own, 4, 0.55));
  const small = Math.tanh(4 * fractalNoise((5 * x) / size, (7 * y) / size, own + 1, 3, 0.6));
  const other = Math.tanh(4 * fractalNoise((2 * x) / size, (3 * y) / size, own + 2, 3, 0.55));
  return {
    stops: patches.stops * (0.7 * wide + 0.5 * small),
    warmth: patches.warmth * (0.5 * wide + 0.7 * other),
  };
}

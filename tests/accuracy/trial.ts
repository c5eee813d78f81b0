import sharp from 'sharp';
import type { Light, Option, Reading } from '../../src/model/reading.js';
import { DEFAULT_WISHES } from '../../src/model/wishes.js';
import { REGION } from '../../src/model/regions.js';
import { curveOfTries, toneTriedOf, type ToneTried } from '../../src/pipeline/curveOfTries.js';
import { triedOf } from '../../src/pipeline/foretellFrame.js';
import { readOneFrame, type FrameResult } from '../../src/pipeline/readOneFrame.js';
import { applyAdvice } from '../../src/scene/applyAdvice.js';
import { unpackRawApart } from '../../src/machine/rawDecoder.js';
import { skyNetwork } from '../../src/machine/skyNetwork.js';
import { readPair } from '../../src/pipeline/readPair.js';
import { sensorLight } from '../../src/scene/dng.js';
import { encodeShot, type CameraCurve, type FileKind } from '../../src/scene/encode.js';
import type { Tools } from '../../src/pipeline/guidance.js';
import { openScene, type Scene, type Shot } from '../../src/scene/shoot.js';
import type { SceneLamp, SceneSpec } from '../../src/scene/spec.js';

/** `known`: a camera's JPEG whose curve the first try's pair of raw and JPEG has shown. */
export type TrialKind = FileKind | 'known';

/** What a shot's truth says, measured on its noise-free light and true mask. */
interface Truth {
  readonly skyStops: number;
  readonly paintedStops: number;
  readonly unlitStops: number;
  readonly paintedClipped: number;
  readonly trailPx: number;
}

/** What one scene's try gave. `null` where there is nothing to compare. */
export interface Trial {
  readonly seed: number;
  readonly kind: SceneSpec['kind'];
  readonly file: TrialKind;
  readonly noted: boolean;
  readonly iou: number;
  readonly skyError: number;
  readonly paintedError: number;
  readonly unlitError: number;
  readonly clipError: number;
  readonly trailError: number | null;
  readonly trueTrail: number;
  readonly cause: string;
  readonly trueCause: string;
  /** Brightest two hundredth of the true paint over its median, stops: beyond 3.2 no exposure can be balanced and unclipped. */
  readonly paintSpread: number;
  /** After one and after two re-shots: sky and balance misses in stops, clipped fraction of paint. */
  readonly after: readonly {
    sky: number;
    balance: number;
    clipped: number;
    /** No more ISO is allowed: a sky that is still low is as near as the limits allow. */
    atLimit: boolean;
    predictedBalance: number | null;
    predictedClipped: number | null;
    summary: string;
  }[];
  readonly milliseconds: number;
}

export async function tryScene(
  spec: SceneSpec,
  file: TrialKind,
  noted: boolean,
  curve: CameraCurve | undefined,
  shots: number,
  scene: Scene = openScene(spec),
  segmenter: 'learned' | 'classical' = 'learned',
): Promise<Trial> {
  let settings = spec.settings;
  let lamps = spec.lamps;
  let shot = scene.shoot(settings, lamps);
  const started = performance.now();
  const curves = file === 'known' ? await learnt(shot, curve) : {};
  const network = segmenter === 'learned' ? { network: skyNetwork } : {};
  const tools = { unpackRaw: unpackRawApart, ...curves, ...network };
  const encoded = (minute: number): Promise<Uint8Array> =>
    encodeShot(shot, file === 'known' ? 'camera' : file, curve, `2026:07:14 23:1${String(minute)}:00`);
  const reader = together(file, noted, tools);
  const bytes = await encoded(0);
  let result = await reader(shot, bytes);
  const milliseconds = performance.now() - started;
  const burnt = isEightBit(file) ? await burntInFile(bytes, shot.truth.mask) : truthOf(shot, file).paintedClipped;
  const first = compare(shot, result, spec, file, burnt);
  const after: Trial['after'][number][] = [];
  for (let n = 0; n < shots; n++) {
    const option = result.reading.advice.options[0];
    if (option !== undefined) {
      ({ settings, lamps } = applyAdvice(option, settings, lamps));
      if (!noted) lamps = withBurning(lamps, option);
    }
    shot = scene.shoot(settings, lamps, n + 2);
    const truth = truthOf(shot, file);
    after.push({
      sky: truth.skyStops - DEFAULT_WISHES.skyTargetStops,
      balance: truth.paintedStops - truth.skyStops - DEFAULT_WISHES.balanceTargetStops,
      clipped: truth.paintedClipped,
      atLimit: settings.iso >= DEFAULT_WISHES.maxIso,
      predictedBalance: option?.predicted.balanceStops ?? null,
      predictedClipped: option?.predicted.paintedClippedFraction ?? null,
      summary: result.reading.advice.summary,
    });
    if (n + 1 < shots) result = await reader(shot, await encoded(n + 1));
  }
  return { seed: spec.seed, kind: spec.kind, file, noted, ...first, paintSpread: spreadOf(shot), after, milliseconds };
}

/** Reads the tries of a scene as they are given together: what they show of a camera's curve serves from then on. */
function together(
  file: TrialKind,
  noted: boolean,
  tools: Tools,
): (shot: Shot, bytes: Uint8Array) => Promise<FrameResult> {
  const toned: ToneTried[] = [];
  return async (shot, bytes) => {
    const result = await read(shot, bytes, file, noted, tools);
    const tone = file === 'camera' || file === 'jpeg' ? await toneTriedOf(bytes, result, triedOf(result).record) : null;
    if (tone === null) return result;
    toned.push(tone);
    const found = curveOfTries(toned);
    if (found === null) return result;
    return read(shot, bytes, file, noted, { ...tools, curves: new Map([[found.key, found]]) });
  };
}

/** Without notes a sentence says what a lamp that burnt through needs; the photographer knows whether there is one. */
function withBurning(lamps: readonly SceneLamp[], { why }: Option): SceneLamp[] {
  const needs = Number(/burnt through the exposure as well, it needs ([\d.]+) times its light/.exec(why)?.[1] ?? 1);
  return lamps.map((lamp) => (lamp.kind === 'stand' ? { ...lamp, power: Math.min(1, lamp.power * needs) } : lamp));
}

/** What one pair of raw and JPEG teaches of the camera's curve. */
async function learnt(shot: Shot, curve: CameraCurve | undefined): Promise<Tools> {
  const raw = { bytes: await encodeShot(shot, 'raw'), file: 'x.dng' };
  const jpeg = { bytes: await encodeShot(shot, 'camera', curve), file: 'x.jpg' };
  const pair = await readPair(raw, jpeg, 'x', {}, [], DEFAULT_WISHES, { unpackRaw: unpackRawApart });
  return pair.curve === null ? {} : { curves: new Map([[pair.curve.key, pair.curve]]) };
}

async function read(
  shot: Shot,
  bytes: Uint8Array,
  file: TrialKind,
  noted: boolean,
  tools: Tools,
): Promise<FrameResult> {
  const lights: Light[] = noted
    ? shot.lamps.map(({ name, kind, seconds, distanceM, power }) => ({
        name,
        kind,
        seconds: kind === 'held' ? seconds : null,
        distanceM,
        power,
      }))
    : [];
  const { settings, spec } = shot;
  const told = { ...settings, focalMm: spec.focalMm, pixelPitchUm: spec.pixelPitchUm, linear: file === 'linear' };
  return readOneFrame(bytes, `scene-${String(spec.seed)}`, told, lights, DEFAULT_WISHES, tools);
}

function truthOf(shot: Shot, file: TrialKind): Truth {
  const { mask, clean, stars } = shot.truth;
  const level = (value: number): number => {
    const values: number[] = [];
    for (let i = 0; i < mask.length; i += 3)
      if (mask[i] === value)
        values.push(file === 'raw' ? Math.max(0, Math.min(1, clean[i * 3 + 1]!)) : luminance(clean, i));
    values.sort((a, b) => a - b);
    return values.length < 30 ? Number.NaN : Math.log2(values[values.length >> 1]! + 1e-9);
  };
  let painted = 0;
  let clipped = 0;
  for (let i = 0; i < mask.length; i++) {
    if (mask[i] !== REGION.painted) continue;
    painted++;
    if (isClipped(shot, i, file)) clipped++;
  }
  const trails = stars.map((star) => star.trailPx).sort((a, b) => a - b);
  return {
    skyStops: level(REGION.sky),
    paintedStops: level(REGION.painted),
    unlitStops: level(REGION.unlit),
    paintedClipped: painted === 0 ? 0 : clipped / painted,
    trailPx: trails[trails.length >> 1] ?? 0,
  };
}

function spreadOf(shot: Shot): number {
  const { mask, clean } = shot.truth;
  const most: number[] = [];
  const middle: number[] = [];
  for (let i = 0; i < mask.length; i += 3) {
    if (mask[i] !== REGION.painted) continue;
    most.push(Math.max(clean[i * 3]!, clean[i * 3 + 1]!, clean[i * 3 + 2]!));
    middle.push(0.2126 * clean[i * 3]! + 0.7152 * clean[i * 3 + 1]! + 0.0722 * clean[i * 3 + 2]!);
  }
  most.sort((a, b) => a - b);
  middle.sort((a, b) => a - b);
  return Math.log2((most[Math.floor(most.length * 0.995)] ?? 1) / (middle[middle.length >> 1] ?? 1));
}

/** Luminance of pixel `i`, each channel held between black and clipping. */
export function luminance(light: Float32Array, i: number): number {
  const at = (c: number): number => Math.min(1, Math.max(0, light[i * 3 + c]!));
  return 0.2126 * at(0) + 0.7152 * at(1) + 0.0722 * at(2);
}

function isClipped(shot: Shot, i: number, file: TrialKind): boolean {
  if (file === 'raw') return [0, 1, 2].some((c) => sensorLight(shot.light, i, c) >= 0.99);
  const clip = 65278 / 65535;
  return shot.light[i * 3]! >= clip || shot.light[i * 3 + 1]! >= clip || shot.light[i * 3 + 2]! >= clip;
}

const isEightBit = (file: TrialKind): boolean => file === 'jpeg' || file === 'camera' || file === 'known';

/**
 * Clipped fraction of the true paint as an 8-bit file has it: pixels with a decoded code of 254 or more (the reading's
 * own definition). Its coder blurs lone burnt pixels, so the light before coding would say another number.
 */
async function burntInFile(bytes: Uint8Array, mask: Uint8Array): Promise<number> {
  const { data, info } = await sharp(bytes).raw().toBuffer({ resolveWithObject: true });
  let painted = 0;
  let clipped = 0;
  for (let i = 0; i < mask.length; i++) {
    if (mask[i] !== REGION.painted) continue;
    painted++;
    const at = i * info.channels;
    if (data[at]! >= 254 || data[at + 1]! >= 254 || data[at + 2]! >= 254) clipped++;
  }
  return painted === 0 ? 0 : clipped / painted;
}

function compare(
  shot: Shot,
  { reading, regions }: FrameResult,
  spec: SceneSpec,
  file: TrialKind,
  burnt: number,
): Pick<
  Trial,
  'iou' | 'skyError' | 'paintedError' | 'unlitError' | 'clipError' | 'trailError' | 'trueTrail' | 'cause' | 'trueCause'
> {
  const { mask } = shot.truth;
  let both = 0;
  let either = 0;
  for (let i = 0; i < mask.length; i++) {
    const truly = mask[i] === REGION.sky;
    const said = regions.fineMask[i] === REGION.sky;
    if (truly && said) both++;
    if (truly || said) either++;
  }
  const truth = truthOf(shot, file);
  const trueCause = causeOf(spec, truth.trailPx);
  const trailing = trueCause === 'trailing' && reading.stars.elongationPx !== null;
  return {
    iou: either === 0 ? 1 : both / either,
    skyError: errorOf(reading, 'sky', truth.skyStops),
    paintedError: errorOf(reading, 'painted', truth.paintedStops),
    unlitError: errorOf(reading, 'unlit', truth.unlitStops),
    clipError: Math.abs(reading.regions.painted.clipped.any - burnt),
    trailError: trailing ? reading.stars.elongationPx - truth.trailPx : null,
    trueTrail: truth.trailPx,
    cause: reading.stars.cause,
    trueCause,
  };
}

function errorOf(reading: Reading, region: 'sky' | 'painted' | 'unlit', truth: number): number {
  return (reading.regions[region].levelStops ?? Number.NaN) - truth;
}

/** The fault that a scene was given. */
function causeOf(spec: SceneSpec, trail: number): string {
  if (spec.defocusPx > 0) return 'defocus';
  if (spec.shakePx > 0) return trail > 0.6 * spec.shakePx ? 'mixed' : 'shake';
  if (spec.comaPx > 4 && trail < 0.5 * spec.comaPx) return 'coma';
  if (spec.comaPx > 4) return 'mixed';
  return trail < 1.6 ? 'round' : 'trailing';
}

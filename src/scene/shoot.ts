import { seededRandom } from '../math/random.js';
import { quantile } from '../math/statistics.js';
import { burningThroughRatio, sensitivityRatio } from '../physics/exposure.js';
import { buildLand, type Land } from './land.js';
import { addEmitter, lampIrradiance } from './lampLight.js';
import { drawTown } from './townLights.js';
import { addStars, skyBackground, type DrawnStar } from './skyLight.js';
import type { LightPlane, SceneLamp, SceneSettings, SceneSpec } from './spec.js';

/** A frame's light before the file: noisy, unclipped, linear R G B with 1 = clipping, and the truth that made it. */
export interface Shot {
  readonly spec: SceneSpec;
  readonly settings: SceneSettings;
  readonly lamps: readonly SceneLamp[];
  /** With noise, as the sensor gives it. */
  readonly light: LightPlane;
  readonly truth: ShotTruth;
}

interface ShotTruth {
  /** Mask in the values of `--masks`: 0 sky, 85 unlit, 170 painted, 255 source. */
  readonly mask: Uint8Array;
  /** Lamp light over ambient light on land, 0 on sky; NaN where there is neither. Water's mirrored light counts as ambient. */
  readonly lampOverAmbient: Float32Array;
  /** Noise-free light without stars and emitters. */
  readonly clean: LightPlane;
  readonly stars: readonly DrawnStar[];
}

export interface Scene {
  readonly spec: SceneSpec;
  shoot(settings: SceneSettings, lamps: readonly SceneLamp[], noiseSeed?: number): Shot;
}

/** `land`: that of the same ground under an earlier sky, which need not be built again. */
export function openScene(spec: SceneSpec, land: Land = buildLand(spec)): Scene {
  const sky = skyBackground(spec);
  const calibrated = scaleToLevel(spec, sky, land);
  const intensity = new Map<string, { map: Float32Array; distanceM: number; scale: number }>();
  const mapOf = (lamp: SceneLamp): { map: Float32Array; scale: number } => {
    const first = spec.lamps.find((own) => own.name === lamp.name) ?? lamp;
    let known = intensity.get(lamp.name);
    if (known === undefined) {
      const map = lampIrradiance(spec, land, first, first.distanceM);
      known = { map, distanceM: first.distanceM, scale: scaleOf(map, 2 ** first.levelStops) };
      intensity.set(lamp.name, known);
    }
    if (known.distanceM !== lamp.distanceM) {
      known = { ...known, map: lampIrradiance(spec, land, first, lamp.distanceM), distanceM: lamp.distanceM };
      // lampIrradiance is relative to the lamp's first distance, so that moving it changes the light.
    }
    return known;
  };
  return {
    spec,
    shoot: (settings, lamps, noiseSeed = 1) => shootLayers(spec, land, calibrated, settings, lamps, mapOf, noiseSeed),
  };
}

/** Puts the median of the sky at `spec.skyStops`. */
function scaleToLevel(spec: SceneSpec, sky: LightPlane, land: Land): LightPlane {
  const sample: number[] = [];
  for (let i = 0; i < land.cover.length; i += 37)
    if (land.cover[i]! < 0.5) sample.push(0.2126 * sky[i * 3]! + 0.7152 * sky[i * 3 + 1]! + 0.0722 * sky[i * 3 + 2]!);
  const factor = 2 ** spec.skyStops / quantile(sample, 0.5);
  return sky.map((value) => value * factor);
}

/** The lamp's level is that of the 70th percentile of the land it reaches. */
function scaleOf(map: Float32Array, level: number): number {
  const top = quantile(
    map.filter((value, index) => value > 0 && index % 13 === 0),
    0.97,
  );
  const lit = map.filter((value, index) => value > top * 0.03 && index % 13 === 0);
  return level / Math.max(1e-9, quantile(lit, 0.6));
}

function shootLayers(
  spec: SceneSpec,
  land: Land,
  sky: LightPlane,
  settings: SceneSettings,
  lamps: readonly SceneLamp[],
  mapOf: (lamp: SceneLamp) => { map: Float32Array; scale: number },
  noiseSeed: number,
): Shot {
  const { widthPx: width, heightPx: height } = spec;
  const through = burningThroughRatio(spec.settings, settings);
  const sensitivity = sensitivityRatio(spec.settings, settings);
  const stars = new Float32Array(sky.length);
  const drawn = addStars(spec, stars, settings.shutterSeconds);
  const clean = new Float32Array(sky.length);
  const withStars = new Float32Array(sky.length);
  const ambient = 2 ** (spec.skyStops + spec.ambientStops);
  const lampLight = new Float32Array(width * height * 3);
  for (const lamp of lamps) {
    const { map, scale } = mapOf(lamp);
    const first = spec.lamps.find((own) => own.name === lamp.name) ?? lamp;
    const time = lamp.kind === 'held' ? (sensitivity * lamp.seconds) / first.seconds : through;
    const gain = (scale * time * lamp.power) / first.power;
    for (let i = 0; i < map.length; i++)
      for (let c = 0; c < 3; c++) lampLight[i * 3 + c]! += map[i]! * gain * lamp.colour[c]! * tintOf(land, i, c);
  }
  const mask = new Uint8Array(width * height);
  const lampOverAmbient = new Float32Array(mask.length);
  for (let i = 0; i < mask.length; i++) {
    const cover = land.cover[i]!;
    const mirror = land.mirrorRow[i]!;
    let lit = 0;
    let own = 0;
    for (let c = 0; c < 3; c++) {
      const ground =
        mirror >= 0
          ? 0.32 * mirrored(sky, land, mirror, i % width, width, c) * through
          : ambient *
            through *
            (land.reflectance[i]! / 0.16) *
            (spec.skyColour[c]! * 0.5 + 0.5) *
            tintOf(land, i, c) *
            cover;
      const lamp = lampLight[i * 3 + c]!;
      const value =
        sky[i * 3 + c]! * through * (1 - cover + land.veil[i]! * cover) + ground * (mirror >= 0 ? cover : 1) + lamp;
      clean[i * 3 + c] = value;
      withStars[i * 3 + c] = value + stars[i * 3 + c]! * through * (1 - cover);
      lit += lamp;
      own += ground;
    }
    mask[i] = cover < 0.5 ? 0 : lit > own ? 170 : 85;
    if (mask[i] !== 0) lampOverAmbient[i] = lit / own;
  }
  const sources = new Uint8Array(width * height);
  drawEmitters(spec, land, lamps, sensitivity, through, withStars, sources);
  for (let i = 0; i < mask.length; i++) if (sources[i] === 1) mask[i] = 255;
  if (spec.moon) markMoon(spec, mask, land);
  const light = addNoise(spec, withStars, settings, noiseSeed);
  return { spec, settings, lamps, light, truth: { mask, lampOverAmbient, clean, stars: drawn } };
}

/** Reflectance of a channel relative to green. */
function tintOf({ warmth }: Land, i: number, c: number): number {
  return warmth === null || c === 1 ? 1 : 2 ** ((c === 0 ? 0.5 : -0.5) * warmth[i]!);
}

function mirrored(sky: LightPlane, land: Land, row: number, column: number, width: number, c: number): number {
  const ripple = Math.round(2 * Math.sin(row * 1.7 + column * 0.02));
  const y = Math.max(0, Math.min(land.skylineRow.length, row + ripple));
  const i = y * width + column;
  return land.cover[i]! < 0.5 ? sky[i * 3 + c]! : sky[i * 3 + c]! * 0.1;
}

function drawEmitters(
  spec: SceneSpec,
  land: Land,
  lamps: readonly SceneLamp[],
  sensitivity: number,
  through: number,
  light: LightPlane,
  sources: Uint8Array,
): void {
  const random = seededRandom(spec.seed + 81);
  const { widthPx: width, heightPx: height } = spec;
  for (const lamp of lamps) {
    if (!lamp.visible || lamp.power === 0) continue;
    const x = land.subject.x + random.between(0.05, 0.16) * width;
    const strength = 30 * (lamp.kind === 'held' ? sensitivity : through);
    addEmitter(light, sources, spec, {
      x,
      y: land.subject.y - height * 0.06,
      radius: height / 300,
      colour: lamp.colour,
      strength,
    });
  }
  if (spec.wider !== undefined) drawTown(spec, spec.wider, land, through, light, sources);
  if (spec.blade) {
    const x = width * random.between(0.15, 0.85);
    const y = land.subject.y - height * random.between(0.02, 0.1);
    addEmitter(light, sources, spec, {
      x,
      y,
      x2: x + width * 0.09,
      y2: y - height * random.between(-0.05, 0.08),
      radius: height / 380,
      colour: [0.3, 0.9, 1.3],
      strength: 4 * sensitivity,
    });
  }
  if (spec.headlamp)
    addEmitter(light, sources, spec, {
      x: width * random.between(0.1, 0.9),
      y: land.subject.y - height * 0.02,
      radius: height / 420,
      colour: [1.4, 0.25, 0.12],
      strength: 3 * sensitivity,
    });
}

function markMoon(spec: SceneSpec, mask: Uint8Array, land: Land): void {
  const radius = Math.max(4, ((spec.focalMm * 1000) / spec.pixelPitchUm) * 0.26 * (Math.PI / 180)) * 1.3;
  const cx = spec.widthPx * 0.78;
  const cy = spec.heightPx * 0.16;
  for (let y = Math.max(0, Math.floor(cy - radius)); y < cy + radius; y++)
    for (let x = Math.floor(cx - radius); x < Math.min(spec.widthPx, cx + radius); x++)
      if (Math.hypot(x - cx, y - cy) < radius && land.cover[y * spec.widthPx + x]! < 0.5)
        mask[y * spec.widthPx + x] = 255;
}

/** Shot noise and read noise (photon transfer: variance = signal / gain + read^2). */
function addNoise(spec: SceneSpec, light: LightPlane, settings: SceneSettings, noiseSeed: number): LightPlane {
  const random = seededRandom(spec.seed * 31 + noiseSeed);
  const full = (spec.fullScaleElectrons * 1600) / settings.iso;
  const noisy = new Float32Array(light.length);
  for (let i = 0; i < light.length; i++) {
    const electrons = Math.max(0, light[i]!) * full;
    noisy[i] = (electrons + random.gaussian() * Math.sqrt(electrons + spec.readNoiseElectrons ** 2)) / full;
  }
  return noisy;
}

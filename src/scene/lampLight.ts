import { fractalNoise } from '../math/texture.js';
import { distanceRatio } from '../physics/exposure.js';
import type { Land } from './land.js';
import { lensFalloff } from './skyLight.js';
import type { LightPlane, SceneLamp, SceneSpec } from './spec.js';

/** Light of one lamp on the land: unit intensity, inverse square, cosine, beam; relative to the subject's own at the first distance. */
export function lampIrradiance(spec: SceneSpec, land: Land, lamp: SceneLamp, distanceM: number): Float32Array {
  const { widthPx: width, heightPx: height } = spec;
  const focalPx = (spec.focalMm * 1000) / spec.pixelPitchUm;
  const bearing = (lamp.bearingDeg * Math.PI) / 180;
  const subjectX = ((land.subject.x - width / 2) / focalPx) * land.subject.metres;
  const at = {
    x: subjectX + Math.sin(bearing) * distanceM,
    y: land.subject.metres - Math.cos(bearing) * distanceM,
    z: lamp.heightM - 1.5,
  };
  const aim = unit(subjectX - at.x, land.subject.metres - at.y, 0 - at.z);
  const beamPower = lamp.beamDeg > 0 ? Math.log(0.5) / Math.log(Math.cos((lamp.beamDeg * Math.PI) / 180)) : 0;
  const swept = lamp.kind === 'held' ? (spec.wider?.swept ?? 0) : 0;
  const blobPx = width / 7;
  const out = new Float32Array(width * height);
  for (let y = 0; y < height; y++) {
    for (let x = 0; x < width; x++) {
      const i = y * width + x;
      if (land.cover[i]! <= 0 || land.mirrorRow[i]! >= 0) continue;
      const px = land.position[i * 3]!;
      const py = land.position[i * 3 + 1]!;
      const pz = land.position[i * 3 + 2]!;
      const dx = px - at.x;
      const dy = py - at.y;
      const dz = pz - at.z;
      // A held light is swept and a stand lamp is no point: nothing is lit as from nearer than three quarters of the distance.
      const d = Math.max(0.75 * distanceM, Math.hypot(dx, dy, dz));
      const relief = fractalNoise(x / 16, y / 11, spec.seed + 71, 3);
      const facing = land.upright[i] === 1 ? dy / d : -dz / d;
      const cosine = Math.max(0.04, Math.min(1, 0.4 + 0.6 * Math.abs(facing) + 0.2 * relief));
      let beam =
        swept === 0 ? 1 : 2 ** (swept * Math.tanh(3 * fractalNoise(x / blobPx, y / blobPx, spec.seed + 73, 2)));
      if (beamPower > 0) beam *= Math.max(0.06, Math.max(0, (dx * aim.x + dy * aim.y + dz * aim.z) / d) ** beamPower);
      out[i] =
        (cosine *
          beam *
          distanceRatio(lamp.distanceM, d) *
          land.reflectance[i]! *
          land.cover[i]! *
          lensFalloff(x, y, spec)) /
        0.16;
    }
  }
  return out;
}

function unit(x: number, y: number, z: number): { x: number; y: number; z: number } {
  const length = Math.hypot(x, y, z);
  return { x: x / length, y: y / length, z: z / length };
}

/** Adds emitters seen directly: the lamp's disc with its halo, a blade's streak, a headlamp. */
export function addEmitter(
  light: LightPlane,
  mask: Uint8Array,
  spec: SceneSpec,
  emitter: {
    x: number;
    y: number;
    radius: number;
    x2?: number;
    y2?: number;
    colour: readonly [number, number, number];
    strength: number;
  },
): void {
  const { widthPx: width, heightPx: height } = spec;
  const x2 = emitter.x2 ?? emitter.x;
  const y2 = emitter.y2 ?? emitter.y;
  const dx = x2 - emitter.x;
  const dy = y2 - emitter.y;
  const length2 = dx * dx + dy * dy || 1;
  const reach = emitter.radius * 6;
  for (
    let y = Math.max(0, Math.floor(Math.min(emitter.y, y2) - reach));
    y <= Math.min(height - 1, Math.max(emitter.y, y2) + reach);
    y++
  ) {
    for (
      let x = Math.max(0, Math.floor(Math.min(emitter.x, x2) - reach));
      x <= Math.min(width - 1, Math.max(emitter.x, x2) + reach);
      x++
    ) {
      const t = Math.max(0, Math.min(1, ((x - emitter.x) * dx + (y - emitter.y) * dy) / length2));
      const apart = Math.hypot(x - emitter.x - t * dx, y - emitter.y - t * dy) / emitter.radius;
      const core = apart < 1 ? emitter.strength : emitter.strength * 0.02 * Math.exp(-(apart - 1) * 1.1);
      const i = y * width + x;
      for (let c = 0; c < 3; c++) light[i * 3 + c]! += core * emitter.colour[c]!;
      if (apart < 1.6) mask[i] = 1;
    }
  }
}

import type { Change, Option } from '../model/reading.js';
import type { SceneLamp, SceneSettings } from './spec.js';

/** Carries out an option on a scene. A change of a light that the scene does not know by name goes to every held lamp. */
export function applyAdvice(
  option: Option,
  settings: SceneSettings,
  lamps: readonly SceneLamp[],
): { settings: SceneSettings; lamps: SceneLamp[] } {
  let camera = settings;
  let lights = [...lamps];
  for (const change of option.changes) {
    if (change.light === undefined) {
      camera = withCamera(camera, change);
      continue;
    }
    const known = lights.some((lamp) => lamp.name === change.light);
    lights = lights.map((lamp) =>
      lamp.name === change.light || (!known && lamp.kind === 'held') ? withLamp(lamp, change) : lamp,
    );
  }
  return { settings: camera, lamps: lights };
}

function withCamera(settings: SceneSettings, change: Change): SceneSettings {
  if (change.what === 'iso') return { ...settings, iso: change.to ?? settings.iso * change.factor };
  if (change.what === 'shutter')
    return { ...settings, shutterSeconds: change.to ?? settings.shutterSeconds * change.factor };
  return { ...settings, aperture: change.to ?? settings.aperture / Math.sqrt(change.factor) };
}

function withLamp(lamp: SceneLamp, change: Change): SceneLamp {
  if (change.what === 'paintTime') return { ...lamp, seconds: change.to ?? lamp.seconds * change.factor };
  if (change.what === 'lampPower') return { ...lamp, power: change.to ?? lamp.power * change.factor };
  return { ...lamp, distanceM: change.to ?? lamp.distanceM / Math.sqrt(change.factor) };
}

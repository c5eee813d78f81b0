import type { LessonId } from '../../src/model/lesson.js';
import { seededRandom } from '../../src/math/random.js';
import { openScene, type Shot } from '../../src/scene/shoot.js';
import type { SceneLamp, SceneSpec } from '../../src/scene/spec.js';
import { smallScene } from './scenes.js';

/** One fault put into an otherwise sound frame. */
export interface Faulty {
  readonly id: LessonId;
  readonly shot: Shot;
}

const TORCH: SceneLamp = {
  name: 'torch',
  kind: 'held',
  seconds: 3,
  distanceM: 9,
  power: 1,
  bearingDeg: -35,
  heightM: 2.2,
  levelStops: -3,
  colour: [1.2, 1, 0.75],
  beamDeg: 0,
  visible: false,
};

export const FAULTS: readonly LessonId[] = [
  'painted-clipped',
  'sky-low',
  'sky-high',
  'paint-low',
  'paint-high',
  'stars-trailed',
  'stars-shaken',
  'stars-defocused',
  'stars-coma',
  'noise-high',
  'source-clipped',
  'colour-clash',
];

/** A frame in balance but for one fault; seeds decide land, direction, lens and how grave it is. */
export function faultyScene(id: LessonId, seed: number): Faulty {
  const random = seededRandom(seed * 31 + FAULTS.indexOf(id));
  const focalMm = random.pick([14, 16, 20]);
  const size = random.between(0.9, 2);
  const torch = (levelStops: number, changes: Partial<SceneLamp> = {}): SceneLamp => ({
    ...TORCH,
    levelStops,
    ...changes,
  });
  const sound: Partial<SceneSpec> = {
    focalMm,
    widthPx: 1296,
    heightPx: 864,
    pixelPitchUm: 36000 / 1296,
    settings: { iso: 1600, shutterSeconds: 15, aperture: 2.8 },
    lamps: [torch(-3)],
    skyStops: -4,
    ambientStops: -2.5,
    milkyWay: 0.6,
    glow: 0.05,
    skyColour: [0.95, 1, 1.15],
    moon: false,
    cloud: 0,
    shakePx: 0,
    defocusPx: 0,
    comaPx: 0.4,
    starFwhmPx: 2.2,
    vignetteStops: 0.5,
    fullScaleElectrons: 5000,
    readNoiseElectrons: 2.5,
    blade: false,
    headlamp: false,
  };
  const faults: Readonly<Partial<Record<LessonId, Partial<SceneSpec>>>> = {
    'painted-clipped': { lamps: [torch(-3 + 1.4 + size)] },
    'sky-low': { skyStops: -4 - size, lamps: [torch(-3 - size)] },
    'sky-high': { skyStops: -4 + size, lamps: [torch(-3 + Math.min(0.9, size))] },
    'paint-low': { lamps: [torch(-3 - size - 0.4)] },
    'paint-high': { lamps: [torch(-3 + size)] },
    // Small frames have large pixels: what trails on them is a shutter of minutes.
    'stars-trailed': { settings: { iso: 1600, shutterSeconds: 120 * size, aperture: 2.8 } },
    'stars-shaken': { shakePx: 6 * size },
    'stars-defocused': { defocusPx: 6.5 * size },
    'stars-coma': { comaPx: 6.5 * size },
    'noise-high': { fullScaleElectrons: 260 / size },
    'source-clipped': { headlamp: true },
    'colour-clash': { lamps: [torch(-3, { colour: [1.9 * Math.sqrt(size), 1, 0.22] })] },
  };
  const spec = smallScene(seed, { ...sound, ...faults[id] });
  return { id, shot: openScene(spec).shoot(spec.settings, spec.lamps) };
}

import { seededRandom } from '../math/random.js';
import { FOREGROUND_KINDS, type ForegroundKind, type SceneLamp, type SceneSpec } from './spec.js';

/** A scene drawn at random: anything a night may bring. The same seed gives the same scene. */
export function randomScene(
  seed: number,
  size: { widthPx: number; heightPx: number } = { widthPx: 2592, heightPx: 1728 },
): SceneSpec {
  const random = seededRandom(seed * 101 + 17);
  const kind: ForegroundKind = FOREGROUND_KINDS[seed % FOREGROUND_KINDS.length]!;
  const focalMm = random.pick([12, 14, 16, 20, 24]);
  const pixelPitchUm = (36000 / size.widthPx) * random.pick([1, 1, 0.66]);
  const night = random.next();
  const moonlit = night > 0.88;
  const dim = night < 0.08;
  const iso = random.pick([800, 1600, 1600, 3200]);
  const skyStops = random.between(-6.5, -2.8) - (dim ? 2.5 : 0);
  const lamps: SceneLamp[] = [
    {
      name: 'torch',
      kind: 'held',
      seconds: random.pick([2, 3, 4, 5, 6, 8]),
      distanceM: random.pick([3, 4, 5, 6, 8]),
      power: 1,
      bearingDeg: random.pick([-70, -50, -30, 30, 50, 70]),
      heightM: random.between(1.2, 2.2),
      levelStops: skyStops + random.between(-1, 4.5),
      colour: [random.between(1.2, 1.9), 1, random.between(0.3, 0.75)],
      beamDeg: random.pick([0, 0, 45, 60]),
      visible: false,
    },
  ];
  if (random.next() < 0.55)
    lamps.push({
      name: 'back',
      kind: 'stand',
      seconds: 0,
      distanceM: random.pick([6, 8, 10, 12]),
      power: random.pick([1, 0.5, 0.25]),
      bearingDeg: random.between(130, 230),
      heightM: random.between(2.5, 3),
      levelStops: skyStops + random.between(-0.5, 3),
      colour: [random.between(1.1, 1.6), 1, random.between(0.4, 0.9)],
      beamDeg: 0,
      visible: random.next() < 0.4,
    });
  const fault = random.next();
  return {
    seed,
    kind,
    ...size,
    focalMm,
    pixelPitchUm,
    settings: {
      iso,
      shutterSeconds: random.pick([8, 10, 13, 15, 20, 25, 30]),
      aperture: random.pick([2, 2.8, 2.8, 4]),
    },
    lamps,
    skyStops,
    ambientStops: moonlit ? random.between(-0.3, 0.8) : random.between(-4.5, -1.8),
    milkyWay: random.between(0.2, 1.6),
    glow: random.next() < 0.4 ? random.between(0.3, 3) : 0.05,
    glowColour: [random.between(1.2, 1.8), 1, random.between(0.4, 0.8)],
    skyColour: moonlit ? [0.6, 1, 1.9] : [random.between(0.75, 1.1), 1, random.between(1, 1.7)],
    moon: moonlit && random.next() < 0.4,
    cloud: random.next() < 0.2 ? random.between(0.3, 1.2) : 0,
    latitudeDeg: random.between(25, 55),
    siderealDeg: random.between(0, 360),
    azimuthDeg: random.between(0, 360),
    altitudeDeg: random.between(6, 22),
    starFwhmPx: random.between(1.7, 3),
    shakePx: fault > 0.86 && fault < 0.93 ? random.between(5, 10) : 0,
    shakeDeg: random.between(-90, 90),
    defocusPx: fault > 0.93 ? random.between(7, 14) : 0,
    comaPx: random.next() < 0.15 ? random.between(5, 9) : random.between(0, 1.2),
    vignetteStops: random.between(0, 1.2),
    fullScaleElectrons: random.between(2500, 5000),
    readNoiseElectrons: random.between(2, 4.5),
    blade: random.next() < 0.15,
    headlamp: random.next() < 0.15,
  };
}

import type { SceneLamp, SceneSettings, SceneSpec } from './spec.js';

/**
 * The demo night, all invented: a dry-stone hut on a moor, a torch behind a diffuser counted by hand, and a lamp on a 2.8 m stand
 * behind the hut. The photographer's first try: the sky a stop low, the torch counted as on other nights.
 */
export function demoScene(widthPx = 1944): SceneSpec {
  return {
    seed: 412,
    kind: 'ruin',
    widthPx,
    heightPx: Math.round(widthPx / 1.5),
    focalMm: 14,
    pixelPitchUm: 36000 / widthPx,
    settings: { iso: 1600, shutterSeconds: 25, aperture: 2.8 },
    lamps: [
      {
        name: 'torch',
        kind: 'held',
        seconds: 3,
        distanceM: 6,
        power: 1,
        bearingDeg: -45,
        heightM: 1.6,
        levelStops: -1.9,
        colour: [1.45, 1, 0.5],
        beamDeg: 0,
        visible: false,
      },
      {
        name: 'back',
        kind: 'stand',
        seconds: 0,
        distanceM: 8,
        power: 0.5,
        bearingDeg: 150,
        heightM: 2.8,
        levelStops: -2.7,
        colour: [1.3, 1, 0.65],
        beamDeg: 0,
        visible: false,
      },
    ],
    skyStops: -5,
    ambientStops: -2.6,
    milkyWay: 1.4,
    glow: 0.3,
    glowColour: [1.5, 1, 0.6],
    skyColour: [0.92, 1, 1.3],
    moon: false,
    cloud: 0,
    latitudeDeg: 38,
    // The invented moor lies at 38 N, 3 W; local sidereal time of 2026-07-14 23:10 summer time there.
    siderealDeg: 247.25,
    azimuthDeg: 190,
    altitudeDeg: 0,
    starFwhmPx: 2.1,
    shakePx: 0,
    shakeDeg: 0,
    defocusPx: 0,
    comaPx: 0.6,
    vignetteStops: 0.7,
    fullScaleElectrons: 4000,
    readNoiseElectrons: 3,
    blade: false,
    headlamp: false,
  };
}

/** One frame of the demo night: which scene, with what settings and lamps, and when. */
export interface DemoShot {
  readonly name: string;
  readonly setup: 'hut' | 'thorn' | 'ridge';
  readonly settings: SceneSettings;
  readonly lamps: readonly SceneLamp[];
  /** How far the sky has turned since the setup's first frame, degrees. */
  readonly turnedDeg: number;
  /** Exif's way of writing the camera's clock. */
  readonly takenAt: string;
}

/** The sky turns once in a sidereal day, 23 h 56 min 4.1 s. */
const TURNS_DEG_PER_MINUTE = 360 / 1436.068;

/** One try: minutes after the first frame, ISO, shutter, torch seconds, torch power, lamp power. */
type Try = readonly [minutes: number, iso: number, shutter: number, count: number, torch: number, lamp: number];

/**
 * Three setups, eight tries each, with the classic mistakes: ISO up a stop and the count not halved, the stand lamp forgotten, a shutter too
 * long for the stars, paint for the camera's bright screen, and the way back to balance.
 */
const TRIES: Readonly<Record<DemoShot['setup'], readonly Try[]>> = {
  hut: [
    [0, 1600, 25, 3, 1, 0.5],
    [4, 1600, 25, 2, 0.5, 0.5],
    [8, 3200, 25, 2, 0.5, 0.5],
    [13, 3200, 25, 1.5, 0.25, 0.25],
    [18, 3200, 25, 3, 0.125, 0.125],
    [23, 3200, 25, 3, 0.15, 0.1],
    [28, 3200, 25, 5, 0.1, 0.1],
    [33, 3200, 25, 2, 0.15, 0.1],
  ],
  thorn: [
    [62, 800, 20, 2, 1, 0.25],
    [66, 1600, 20, 2, 1, 0.25],
    [70, 3200, 20, 2, 1, 0.25],
    [75, 3200, 20, 2, 0.5, 0.125],
    [80, 3200, 20, 3, 0.15, 0.125],
    [85, 3200, 30, 3, 0.15, 0.0625],
    [90, 3200, 20, 3, 0.2, 0.05],
    [95, 3200, 20, 6, 0.2, 0.05],
  ],
  ridge: [
    [124, 3200, 15, 4, 0.25, 0.25],
    [128, 6400, 15, 4, 0.25, 0.25],
    [132, 6400, 15, 2, 0.25, 0.125],
    [137, 6400, 30, 2, 0.125, 0.0625],
    [142, 6400, 15, 4, 0.125, 0.0625],
    [147, 6400, 15, 4, 0.07, 0.05],
    [152, 3200, 15, 4, 0.07, 0.05],
    [157, 6400, 15, 3, 0.1, 0.05],
  ],
};

/** The scene of each setup: another foreground, another direction. */
export function demoSetup(setup: DemoShot['setup'], widthPx = 1296): SceneSpec {
  const hut = { ...demoScene(widthPx), settings: { iso: 1600, shutterSeconds: 25, aperture: 2.8 } };
  if (setup === 'hut') return hut;
  if (setup === 'thorn')
    return {
      ...hut,
      seed: 517,
      kind: 'tree',
      skyStops: -5.2,
      azimuthDeg: 215,
      altitudeDeg: 17,
      siderealDeg: 262.8,
      glow: 0.1,
    };
  return {
    ...hut,
    seed: 630,
    kind: 'ridge',
    skyStops: -5.6,
    azimuthDeg: 150,
    altitudeDeg: 12,
    siderealDeg: 278.35,
    milkyWay: 1.1,
  };
}

/** The whole demo night: 24 frames in three setups, in time order. */
export function demoNight(): DemoShot[] {
  const shots: DemoShot[] = [];
  for (const setup of ['hut', 'thorn', 'ridge'] as const) {
    const [torch, lamp] = demoSetup(setup).lamps;
    const [begins] = TRIES[setup][0]!;
    for (const [minutes, iso, shutterSeconds, seconds, torchPower, lampPower] of TRIES[setup])
      shots.push({
        name: `moor-${String(500 + shots.length)}`,
        setup,
        settings: { iso, shutterSeconds, aperture: 2.8 },
        lamps: [
          { ...torch!, seconds, power: torchPower },
          { ...lamp!, power: lampPower },
        ],
        turnedDeg: (minutes - begins) * TURNS_DEG_PER_MINUTE,
        takenAt: new Date(Date.UTC(2026, 6, 14, 23, 10 + minutes))
          .toISOString()
          .slice(0, 19)
          .replace(/-/g, ':')
          .replace('T', ' '),
      });
  }
  return shots;
}

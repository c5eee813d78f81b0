import type { SceneSpec } from './spec.js';

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
    siderealDeg: 268,
    azimuthDeg: 190,
    altitudeDeg: 14,
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

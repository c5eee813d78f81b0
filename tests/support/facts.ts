import type { Facts } from '../../src/advise/facts.js';
import type { Light } from '../../src/model/reading.js';
import { DEFAULT_WISHES } from '../../src/model/wishes.js';

export const TORCH: Light = { name: 'torch', kind: 'held', seconds: 3, distanceM: 6, power: 1 };
export const BACK: Light = { name: 'back', kind: 'stand', seconds: null, distanceM: 12, power: 0.5 };

/** A frame in balance, but for the changes. */
export function factsWith(changes: Partial<Facts>): Facts {
  return {
    damaged: false,
    settings: {
      iso: 1600,
      shutterSeconds: 20,
      aperture: 2.8,
      focalMm: 14,
      pixelPitchUm: 6,
      widthPx: 6000,
      heightPx: 4000,
      takenAt: null,
      camera: null,
      lens: null,
      position: null,
    },
    levelUncertaintyStops: 0.03,
    curveGuessed: false,
    curveHint: null,
    widestAperture: 2.8,
    skyStops: -4,
    paintedStops: -2.5,
    landLevels: null,
    headroom: {
      fractionAbove: [0, ...Array.from({ length: 40 }, (_, n) => Math.min(1, Math.max(0, (n - 5) / 12)))],
      fractionOver: Array.from({ length: 21 }, () => 0),
      clippedMedianOverStops: 0,
      hiddenStops: 0,
      medianStops: -2.5,
    },
    paintedClipped: 0,
    falloffStops: 1.5,
    trailPx: 2,
    otherBlurPx: 0,
    trailPxAllowed: 3.2,
    handFault: null,
    lights: [TORCH],
    lampLayers: null,
    wishes: DEFAULT_WISHES,
    ...changes,
  };
}

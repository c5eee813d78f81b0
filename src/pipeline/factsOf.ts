import { isCurveUnknown } from '../calibration/cameraCurve.js';
import { ASSUMED_LIGHT, type Facts, type LampLayers } from '../advise/facts.js';
import { ROUND_TRAIL_PX } from '../measure/stars/cause.js';
import { BLACK_SKY_STOPS, handFaultOf, isDamaged, type Light, type Reading } from '../model/reading.js';
import { LEAST_PAINTED } from '../model/regions.js';
import type { Wishes } from '../model/wishes.js';
import { BLACK_STOPS } from '../physics/twoLights.js';

/** Less of the frame than this is too little to speak of a sky. */
const LEAST_SKY = 0.01;

/** What advice needs of a reading; a stored reading gives the same facts as a fresh one. A lamp that is off takes no part. */
export function factsOf(
  measured: Pick<
    Reading,
    'settings' | 'encoding' | 'regions' | 'headroom' | 'landLevels' | 'falloff' | 'stars' | 'curveHint' | 'warnings'
  >,
  widestAperture: number | null,
  lights: readonly Light[],
  wishes: Wishes,
  lampLayers: LampLayers | null = null,
): Facts {
  const { regions, headroom, stars } = measured;
  const burning = lights.filter(({ power }) => power !== 0);
  const sky = regions.sky.areaFraction >= LEAST_SKY ? regions.sky.levelStops : null;
  const lit = regions.painted.areaFraction >= LEAST_PAINTED ? regions.painted.levelStops : null;
  // A rim of stray light round something black is no paint; nor is what shines while all lamps are off.
  const isPaint = lit !== null && lit >= BLACK_STOPS && (burning.length > 0 || lights.length === 0);
  const painted = isPaint ? lit : null;
  const trail = trailOf(stars);
  return {
    damaged: isDamaged(measured),
    settings: measured.settings,
    levelUncertaintyStops: measured.encoding.levelUncertaintyStops,
    curveGuessed: isCurveUnknown(measured.encoding) && measured.encoding.response === 'camera',
    curveHint: measured.curveHint,
    widestAperture,
    skyStops: sky !== null && sky > BLACK_SKY_STOPS ? sky : null,
    paintedStops: painted === null ? null : painted + (headroom?.hiddenStops ?? 0),
    landLevels: painted === null ? null : measured.landLevels,
    headroom: painted === null ? null : headroom,
    paintedClipped: painted === null ? null : regions.painted.clipped.any,
    falloffStops: measured.falloff?.rangeStops ?? null,
    trailPx: trail,
    otherBlurPx: otherBlurOf(stars, trail),
    trailPxAllowed: stars.limit.trailPxAllowed,
    handFault: handFaultOf(stars),
    lights: burning.length > 0 ? burning : [ASSUMED_LIGHT],
    lampLayers,
    wishes,
  };
}

/** Round stars are drawn out by grain alone, each its own way; that is no blur of the frame. */
function otherBlurOf({ cause, elongationPx }: Reading['stars'], trail: number | null): number {
  return cause === 'round' ? 0 : Math.sqrt(Math.max(0, (elongationPx ?? 0) ** 2 - (trail ?? 0) ** 2));
}

/** Trail of the typical star, pixels: as measured, or as the lens foretells it; never longer than stars that could be measured are. */
function trailOf({ cause, elongationPx, predictedTrailPx }: Reading['stars']): number | null {
  if (cause === 'trailing') return elongationPx;
  if (predictedTrailPx === null || elongationPx === null) return predictedTrailPx?.median ?? null;
  return Math.min(predictedTrailPx.median, Math.max(ROUND_TRAIL_PX, elongationPx));
}

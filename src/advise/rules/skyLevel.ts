import { skyMiss } from '../candidate.js';
import { aimsAbove, isTold, skyTolerance } from '../aims.js';
import { BAND, missCost, type Band, type Rule } from './rule.js';

/** Of light that is known this well the sky is foretold as exactly as the camera keeps its dials: more of the band is used, and none beyond. */
const SURE_STOPS = 0.1;
const SURE_BAND = { used: 0.88, beyond: 20 };

/**
 * A camera's own JPEG shows the sky brighter than it is: what is aimed over the target is not taken back by coarse dials, downwards by more than
 * half of it. Upwards as much is used as of any file, and a bit, which may be a plain one.
 */
const LIFTED = { used: 0.9, downwards: 0.5, beyond: 4 };

function liftedBand(above: number, tolerance: number): Band {
  const below = { used: (-LIFTED.downwards * above) / tolerance, beyond: LIFTED.beyond };
  return { ...BAND, used: Math.max(0.05, LIFTED.used - above / tolerance), below };
}

/**
 * A lift that the frame's own stars tell is no plain file's: the sky is aimed where it must be shown, as nearly as dials in third stops allow. Of
 * one that is little over what a plain file bears nothing is used upwards.
 */
const TOLD = { stops: 0.17, sureStops: 0.6 };

function toldBand(above: number, tolerance: number): Band {
  const sure = Math.min(1, above / TOLD.sureStops) ** 2;
  const below = { used: (TOLD.stops - above) / tolerance, beyond: BAND.beyond };
  return { ...BAND, used: (sure * TOLD.stops) / tolerance, below };
}

function bandAbove(above: number, tolerance: number): Band {
  if (isTold(above)) return toldBand(above, tolerance);
  return above > 0 ? liftedBand(above, tolerance) : BAND;
}

/** The sky's background near its target. */
export const skyLevel: Rule = {
  id: 'skyLevel',
  wish: (facts) => {
    const { skyStops, wishes, levelUncertaintyStops } = facts;
    if (skyStops === null) return null;
    const above = aimsAbove(facts).sky;
    const tolerance = skyTolerance(facts);
    const band = levelUncertaintyStops <= SURE_STOPS ? SURE_BAND : bandAbove(above, tolerance);
    return {
      says: 'the sky near its target',
      cost: (candidate) => missCost(skyMiss(candidate, wishes) ?? 0, tolerance, band, above),
    };
  },
};

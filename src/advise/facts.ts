import type { CurveHint } from '../model/curveHint.js';
import type { Settings } from '../model/frame.js';
import type { HandFault, Headroom, LandLevels, Light } from '../model/reading.js';
import type { Wishes } from '../model/wishes.js';

/** Light of each lamp on the same cells of the ground, told apart from several tries. */
export interface LampLayers {
  /** Names of the lamps of each layer; the first is sky and ambient light, of none. */
  readonly lamps: readonly (readonly string[])[];
  /** Luminance of each layer, cell by cell, as the last try had it. */
  readonly light: readonly Float32Array[];
}

/** All that advice is drawn from: measurements, lamps and wishes, no pixels. */
export interface Facts {
  /** Part of the picture data is damaged: what was measured may be off by any amount. */
  readonly damaged: boolean;
  readonly settings: Settings;
  readonly widestAperture: number | null;
  /** How far a level may be from the light that fell, one standard deviation. */
  readonly levelUncertaintyStops: number;
  /** Read by a camera's curve of which the height, or one end, is guessed. */
  readonly curveGuessed: boolean;
  /** What the stars of a file of unknown tone curve tell of it. */
  readonly curveHint: CurveHint | null;
  readonly skyStops: number | null;
  /** Painted median with what clipping hides estimated. */
  readonly paintedStops: number | null;
  readonly landLevels: LandLevels | null;
  readonly headroom: Headroom | null;
  /** Fraction of painted pixels that are clipped in the file. */
  readonly paintedClipped: number | null;
  readonly falloffStops: number | null;
  /** Trail of this frame at its typical star, pixels: measured when it is trailing, else foretold. */
  readonly trailPx: number | null;
  /** What measured elongation rotation does not explain (shake, coma, sampling), pixels; it adds in squares and stays. */
  readonly otherBlurPx: number;
  readonly trailPxAllowed: number | null;
  /** What is to be mended by hand before any setting, as the stars show it. */
  readonly handFault: HandFault | null;
  readonly lights: readonly Light[];
  /** Each lamp's own light, where several tries have told them apart; else the lamps count as equal parts of the paint. */
  readonly lampLayers: LampLayers | null;
  readonly wishes: Wishes;
}

/** The light that is assumed when the photographer noted none. */
export const ASSUMED_LIGHT: Light = { name: 'paint', kind: 'held', seconds: null, distanceM: null, power: null };

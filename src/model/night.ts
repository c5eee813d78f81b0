import type { Reading } from './reading.js';
import type { Outlook } from './sky.js';

/**
 * A frame at a glance, small enough to keep: what setups are told by and frames compared with. Row-major cells over the upright frame.
 */
export interface Glance {
  readonly width: number;
  readonly height: number;
  /** log2 of linear luminance (1 = clipping) of each cell, in hundredths of a stop. */
  readonly light: readonly number[];
  /** REGION value of each cell's middle; a cell with a clipped sample outside the sky is counted as a source. */
  readonly regions: readonly number[];
}

/** One frame of a night before it is compared with its neighbours. */
export interface FrameRecord {
  /** Path below the night's folder, with forward slashes. */
  readonly file: string;
  readonly reading: Reading;
  readonly glance: Glance;
  /** Widest f-number of the lens, where the file tells. */
  readonly widestAperture: number | null;
  /** A small JPEG, base64. */
  readonly thumbnail: string;
  /** Brightest stars for matching with the catalogue: x and y in upright pixels, flux, contrast. */
  readonly starPoints?: readonly (readonly [number, number, number, number])[];
}

/** A point lost, with its reason in words. */
export interface Loss {
  readonly points: number;
  readonly fault: FaultId;
  readonly says: string;
}

export type FaultId =
  | 'sky-low'
  | 'sky-high'
  | 'paint-low'
  | 'paint-high'
  | 'paint-clipped'
  | 'stars-trailed'
  | 'stars-soft'
  | 'noise-high'
  | 'unreadable';

export interface Grade {
  /** 0 to 100. */
  readonly score: number;
  readonly rating: 1 | 2 | 3 | 4 | 5;
  readonly reasons: readonly Loss[];
}

/** What changed since the frame before in the same setup. */
export interface SincePrevious {
  /** What the camera's settings changed for light that burns through, stops; null where a setting is not known. */
  readonly cameraStops: number | null;
  /** What the sky's level did, stops. */
  readonly skyStops: number | null;
  /** Held light of this frame over that of the one before, with the camera's part taken out. */
  readonly paintRatio: number | null;
  readonly paintRatioUncertaintyStops: number | null;
  readonly says: string;
}

/** Sun, Moon and the core of the Milky Way at a frame's middle; degrees. */
export interface SkyMoment {
  readonly sunAltitudeDeg: number;
  readonly moonAltitudeDeg: number;
  readonly moonLitFraction: number;
  readonly coreAltitudeDeg: number;
  readonly coreAzimuthDeg: number;
  readonly says: string;
}

export interface NightFrame extends Reading {
  readonly setup: number;
  readonly grade: Grade;
  readonly sky: SkyMoment | null;
  readonly sincePrevious: SincePrevious | null;
}

export interface Setup {
  readonly id: number;
  readonly frames: readonly string[];
  /** Best first: those within five points of the best, two at most. */
  readonly picks: readonly string[];
  /** The core over this framing, and the end of the dark, as one of its frames saw them; null when nothing can be told. */
  readonly outlook: Outlook | null;
}

export interface Failure {
  readonly file: string;
  readonly code: string;
  readonly message: string;
}

export interface Night {
  readonly schema: 'paintstop.night/1';
  readonly folder: string;
  readonly frames: readonly NightFrame[];
  readonly setups: readonly Setup[];
  readonly failed: readonly Failure[];
}

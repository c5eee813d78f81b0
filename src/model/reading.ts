import type { CurveHint } from './curveHint.js';
import type { Encoding, Settings, Warning } from './frame.js';
import type { Box, Segmenter } from './regions.js';

interface ClippedFractions {
  readonly any: number;
  readonly red: number;
  readonly green: number;
  readonly blue: number;
}

export const PERCENTILES = ['1', '50', '95', '99', '99.9'] as const;
export type Percentile = (typeof PERCENTILES)[number];

export interface RegionLevels {
  readonly areaFraction: number;
  readonly levelStops: number | null;
  readonly percentilesStops: Readonly<Record<Percentile, number | null>>;
  readonly clipped: ClippedFractions;
  /** Fraction of pixels with every channel at the floor of the file (no detail left). */
  readonly crushedFraction: number;
  /** Signal over noise of a single pixel, estimated from neighbouring pixels. */
  readonly signalToNoise: number | null;
}

/** A sky that is no brighter, stops, is black: nothing was measured in it. */
export const BLACK_SKY_STOPS = -15;

export const REGION_NAMES = ['sky', 'foreground', 'painted', 'unlit'] as const;
export type RegionName = (typeof REGION_NAMES)[number];

export type ClipCause = 'painted-surface' | 'source' | 'star' | 'moon' | 'sky' | 'horizon-glow';
export type ChannelName = 'red' | 'green' | 'blue';

export interface Clip {
  readonly cause: ClipCause;
  readonly areaPx: number;
  readonly box: Box;
  readonly channels: readonly ChannelName[];
  /** Fraction of the frame. */
  readonly share: number;
}

export type StarCause = 'round' | 'trailing' | 'shake' | 'defocus' | 'coma' | 'mixed' | 'too-few';

export interface TrailLimit {
  readonly trailPxAllowed: number | null;
  readonly shutterSecondsAllowed: number | null;
  readonly rule: string;
  readonly others: { readonly npf: number | null; readonly fiveHundred: number | null };
}

export interface Stars {
  readonly count: number;
  readonly fwhmPx: number | null;
  readonly elongationPx: number | null;
  readonly axisRatio: number | null;
  readonly directionDeg: number | null;
  readonly limit: TrailLimit;
  readonly predictedTrailPx: { readonly median: number; readonly worst: number } | null;
  readonly overLimitFraction: number | null;
  readonly cause: StarCause;
}

/** A fault of the stars that no setting mends: the photographer has to see to the lens or the tripod first. */
export type HandFault = 'defocus' | 'shake';

/** Shake within the trailing limit is let pass; lost focus never is. */
export function handFaultOf({ cause, elongationPx, limit }: Stars): HandFault | null {
  if (cause === 'defocus') return cause;
  return cause === 'shake' && (elongationPx ?? 0) > (limit.trailPxAllowed ?? 0) ? cause : null;
}

/** Part of the picture data is damaged: what was measured may be off by any amount. */
export function isDamaged({ warnings }: Pick<Reading, 'warnings'>): boolean {
  return warnings.some(({ code }) => code === 'damaged-data');
}

/** How uneven the paint is. */
export interface Falloff {
  /** 95th minus 5th percentile of the painted light, smoothed over texture. */
  readonly rangeStops: number;
  /** Centre of the brightest painted patch, upright pixels. */
  readonly hotSpot: { readonly x: number; readonly y: number };
  /** That patch over the painted median. */
  readonly hotSpotOverMedianStops: number;
}

/** How much room the painted light has under clipping, and what clipping hides of it (an estimate). */
export interface Headroom {
  /** `fractionAbove[n]`: fraction of painted pixels whose brightest channel is above -n/4 stops (n = 0: clipped). */
  readonly fractionAbove: readonly number[];
  /** The same beyond clipping: `fractionOver[n]` is the fraction above +n/4 stops. */
  readonly fractionOver: readonly number[];
  /** Middle of what is clipped, stops over clipping; 0 when nothing is. */
  readonly clippedMedianOverStops: number;
  /** Painted median in stops with the clipped part carried on beyond clipping. */
  readonly medianStops: number;
  /** What that adds to the median as the file shows it. */
  readonly hiddenStops: number;
}

/** How foreground is spread over the ratio of lamp light to ambient light, in steps of log2 from `lowestStops`; land under that is left out. */
export interface LandLevels {
  readonly lowestStops: number;
  readonly stepStops: number;
  /** Ambient light on land without lamp light. */
  readonly ambientStops: number;
  /** Share of the foreground in each step. */
  readonly shares: readonly number[];
  /** Mean level of that land, stops from clipping, with what clipping hides put back; null where there is none. */
  readonly levelStops: readonly (number | null)[];
}

/** Who told sky from ground, and how far they could be told apart (0 to 1). */
interface Segmentation {
  readonly by: Segmenter;
  readonly confidence: number;
}

interface Balance {
  readonly stops: number | null;
  readonly targetStops: number;
  readonly toleranceStops: number;
  readonly skyTargetStops: number;
  /** Where this file shows a sky that is on its target: elsewhere only where its stars tell that its curve lifts mid tones. */
  readonly skyShownTargetStops: number;
}

export interface Light {
  readonly name: string;
  readonly kind: 'held' | 'stand';
  readonly seconds: number | null;
  readonly distanceM: number | null;
  /** Part of full power. */
  readonly power: number | null;
  /** The parts of full power that the lamp can be set to, where the photographer told them. */
  readonly powers?: readonly number[];
}

type ChangeKind = 'iso' | 'shutter' | 'aperture' | 'paintTime' | 'lampPower' | 'lampDistance';

export interface Change {
  readonly what: ChangeKind;
  readonly light?: string;
  readonly from: number | null;
  readonly to: number | null;
  /** What the change multiplies its own light's exposure by. */
  readonly factor: number;
}

interface Predicted {
  readonly skyStops: number | null;
  readonly paintedStops: number | null;
  readonly balanceStops: number | null;
  readonly paintedClippedFraction: number | null;
  readonly trailPx: number | null;
}

export interface Option {
  /** The changes in one sentence. */
  readonly says: string;
  readonly changes: readonly Change[];
  readonly predicted: Predicted;
  readonly walks: number;
  readonly why: string;
}

type Verdict = 'balanced' | 'adjust' | 'unreadable';

/** What keeps a frame from its targets when no change reaches them. */
export type Limit = 'lamp' | 'sky' | 'lens';

export interface Advice {
  readonly verdict: Verdict;
  readonly summary: string;
  readonly options: readonly Option[];
  /** What the best option (or changing nothing) still runs into; null when the targets are reached. */
  readonly limit: Limit | null;
}

/** What the camera's JPEG shows beside the raw file of the same shot. */
export interface Pair {
  readonly file: string;
  /** Part of the JPEG with a clipped channel. */
  readonly clippedFraction: number;
  /** Part of that which the raw file still holds; null when nothing of the JPEG clips. */
  readonly recoverable: number | null;
  /** Error of the camera's display curve fitted from this pair, one standard deviation; null when it could not be fitted. */
  readonly curveErrorStops: number | null;
}

/** One lamp (or several that cannot be told apart) on the land that it lights most, from several tries of a setup. */
export interface LampShare {
  readonly lamps: readonly string[];
  /** Middle of its light there, stops from clipping. */
  readonly levelStops: number;
  /** Part of that land that its light alone clips. */
  readonly clipsAlone: number;
  /** Part of the frame. */
  readonly areaFraction: number;
  /** Where its light is strongest, upright pixels. */
  readonly hotSpot: { readonly x: number; readonly y: number };
}

export interface Reading {
  readonly schema: 'paintstop.frame/1';
  readonly file: string;
  readonly settings: Settings;
  readonly encoding: Encoding;
  readonly segmentation: Segmentation;
  readonly regions: Readonly<Record<RegionName, RegionLevels>>;
  readonly clips: readonly Clip[];
  readonly stars: Stars;
  readonly falloff: Falloff | null;
  readonly headroom: Headroom | null;
  readonly landLevels: LandLevels | null;
  /** What the stars of a JPEG tell of its camera's display curve; null where they tell nothing, or it is known. */
  readonly curveHint: CurveHint | null;
  readonly balance: Balance;
  readonly lights: readonly Light[];
  /** Where several tries of the setup were given and tell the lamps apart. */
  readonly lampShares?: readonly LampShare[];
  /** Raw and JPEG pairs only. */
  readonly pair?: Pair;
  readonly advice: Advice;
  readonly warnings: readonly Warning[];
}

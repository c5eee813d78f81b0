import { ISO_MARKS } from '../advise/dials.js';
import { trailLimit } from '../measure/stars/limit.js';
import type { Plan } from '../model/plan.js';
import type { Reading } from '../model/reading.js';
import type { Wishes } from '../model/wishes.js';
import { focalPlaneExposure, saturationFraction } from '../physics/exposure.js';
import { momentOf, zoneAt } from '../physics/localTime.js';
import { luminanceOfMagnitude } from '../physics/skyBrightness.js';
import { momentOfNight, type NightMoment, type Spot } from './nightMoment.js';
import type { BoxedLamp } from './planLamps.js';

export interface PlanQuestion {
  readonly latitudeDeg: number;
  readonly longitudeDeg: number;
  readonly zone: string | null;
  /** The evening's date there, YYYY-MM-DD. */
  readonly date: string;
  /** Dark moonless zenith, magnitudes per square arcsecond. */
  readonly skyMagnitude: number;
  readonly lens: {
    readonly aperture: number;
    readonly focalMm: number;
    readonly pixelPitchUm: number;
    readonly widthPx: number;
    readonly heightPx: number;
  };
  /** An earlier frame of the same camera, whose sky tells how it takes light. */
  readonly like: Reading | null;
  readonly wishes: Wishes;
  readonly lamps: readonly BoxedLamp[];
  readonly reflectance: number;
}

/** Shutters in thirds, as cameras have them, and counted half minutes beyond. */
const SHUTTERS = [
  1 / 8,
  1 / 6,
  1 / 5,
  1 / 4,
  0.3,
  0.4,
  0.5,
  0.6,
  0.8,
  1,
  1.3,
  1.6,
  2,
  2.5,
  3.2,
  4,
  5,
  6,
  8,
  10,
  13,
  15,
  20,
  25,
  30,
  40,
  50,
  60,
];
const HALF_MINUTE = 30;

export interface FirstSettings {
  readonly settings: NonNullable<Plan['start']>;
  /** The sky that is expected, in a place without the Milky Way's own light. */
  readonly skyCdM2: number;
}

/** With a trailing limit that no exposure keeps, there must be an answer still. */
const LEAST_SHUTTER_SECONDS = 0.1;

/** Shutters within the limit, the longest first. */
function shuttersWithin(mostSeconds: number): readonly number[] {
  const within = SHUTTERS.filter((seconds) => seconds <= mostSeconds * 1.04).reverse();
  const longest = within[0];
  if (longest === undefined) return [Math.max(LEAST_SHUTTER_SECONDS, mostSeconds)];
  const counted = Math.floor(mostSeconds / HALF_MINUTE) * HALF_MINUTE;
  return counted > longest ? [counted, ...within] : within;
}

/**
 * The longest shutter that the stars allow, then the ISO that brings the expected sky to its target; where the lowest ISO is too much, a
 * shorter shutter.
 */
export function firstSettings(
  { lens, wishes, like, latitudeDeg, longitudeDeg, zone, skyMagnitude }: PlanQuestion,
  when: NightMoment,
): FirstSettings | null {
  if (when.magnitude === null) return null;
  const skyCdM2 = luminanceOfMagnitude(when.magnitude);
  const limit = trailLimit(
    {
      iso: null,
      shutterSeconds: null,
      takenAt: null,
      camera: null,
      lens: null,
      position: null,
      ...lens,
    },
    wishes.trailPxAllowed,
    { cause: 'too-few', elongationPx: null },
  );
  const most = Math.min(wishes.maxShutterSeconds, limit.shutterSecondsAllowed ?? wishes.maxShutterSeconds);
  const own = ownResponse(like, { latitudeDeg, longitudeDeg, zone, skyMagnitude });
  const levelAt = (iso: number, seconds: number): number =>
    Math.log2(saturationFraction(focalPlaneExposure(skyCdM2, seconds, lens.aperture), iso)) + (own?.stops ?? 0);
  const allowed: readonly number[] = ISO_MARKS.filter((iso) => iso <= wishes.maxIso);
  const isos = allowed.length > 0 ? allowed : [wishes.maxIso];
  const shutters = shuttersWithin(most);
  const tooMuch = (seconds: number): boolean => levelAt(isos[0]!, seconds) > wishes.skyTargetStops + HALF_A_THIRD;
  const shutterSeconds = shutters.find((seconds) => !tooMuch(seconds)) ?? shutters.at(-1)!;
  const miss = (iso: number): number => Math.abs(levelAt(iso, shutterSeconds) - wishes.skyTargetStops);
  const iso = isos.reduce((best, tried) => (miss(tried) < miss(best) ? tried : best));
  const skyStops = levelAt(iso, shutterSeconds);
  const over = skyStops - wishes.skyTargetStops;
  const why = [
    `Sky expected at ${when.magnitude.toFixed(1)} magnitudes per square arcsecond${when.moonAltitude > 0 ? ', moonlight included' : ''}.`,
    shutterSeconds < shutters[0]!
      ? `Longer than ${inWords(shutterSeconds)} s is too much for this sky at ISO ${String(iso)}.`
      : limit.shutterSecondsAllowed !== null && limit.shutterSecondsAllowed < wishes.maxShutterSeconds
        ? `${inWords(shutterSeconds)} s is the longest shutter within ${(limit.trailPxAllowed ?? 0).toFixed(1)} px of trail for ${String(lens.focalMm)} mm at f/${String(lens.aperture)} and pixels of ${String(Number(lens.pixelPitchUm.toPrecision(3)))} µm.`
        : `${inWords(shutterSeconds)} s is the longest shutter that you allow.`,
    `That puts the sky at ${skyStops.toFixed(1)} stops from clipping${besideTarget(over, wishes.toleranceStops)}.`,
    ...(own === null && like !== null
      ? [
          `How your camera took ${like.file} could not be used: its sky or its settings are not told, or it is no night frame.`,
        ]
      : []),
    own === null
      ? "By the ISO standard's speed point; cameras lie up to a stop from it, so take the first frame as a test."
      : `By how your camera took the sky of ${own.file}.`,
  ].join(' ');
  return {
    settings: {
      iso,
      aperture: lens.aperture,
      shutterSeconds,
      skyStops: rounded(skyStops, 2),
      uncertaintyStops: own === null ? 1 : own.uncertaintyStops,
      why,
    },
    skyCdM2,
  };
}

/** Nearest of settings in thirds of a stop. */
const HALF_A_THIRD = 1 / 6;

function besideTarget(over: number, tolerance: number): string {
  if (over < -tolerance)
    return `, ${(-over).toFixed(1)} under its target: a wider opening, a higher ISO or a tracked sky only would change that`;
  return over > tolerance
    ? `, ${over.toFixed(1)} over its target: a smaller opening, or a darker hour, would change that`
    : '';
}

function inWords(seconds: number): string {
  return String(Number(seconds.toPrecision(seconds < 1 ? 2 : 4)));
}

/** How far a camera's measured sky lay from what the standard foretells; less sure when the earlier night is not known. */
function ownResponse(
  like: Reading | null,
  where: Spot & { readonly zone: string | null; readonly skyMagnitude: number },
): { readonly stops: number; readonly uncertaintyStops: number; readonly file: string } | null {
  if (like === null) return null;
  const { iso, shutterSeconds, aperture, takenAt, position } = like.settings;
  const level = like.regions.sky.levelStops;
  if (iso === null || shutterSeconds === null || aperture === null || level === null) return null;
  const spot = position ?? where;
  const at = takenAt === null ? null : momentOf(takenAt, where.zone ?? zoneAt(spot.latitudeDeg, spot.longitudeDeg));
  const then = at === null ? null : momentOfNight(at, spot, where.skyMagnitude).magnitude;
  const skyCdM2 = luminanceOfMagnitude(then ?? where.skyMagnitude);
  const expected = Math.log2(saturationFraction(focalPlaneExposure(skyCdM2, shutterSeconds, aperture), iso));
  // A frame by daylight or under town light tells nothing of a dark sky.
  if (Math.abs(level - expected) > 3) return null;
  const uncertaintyStops = rounded(Math.hypot(like.encoding.levelUncertaintyStops, then === null ? 0.7 : 0.4), 1);
  return { stops: level - expected, uncertaintyStops, file: like.file };
}

function rounded(value: number, digits: number): number {
  return Number(value.toFixed(digits));
}

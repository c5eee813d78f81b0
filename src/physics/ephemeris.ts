import {
  Body,
  Equator,
  Horizon,
  Illumination,
  Observer,
  RotateVector,
  Rotation_EQJ_HOR,
  SearchAltitude,
  SearchRiseSet,
  Rotation_HOR_EQJ,
  MakeTime,
  Vector as EngineVector,
} from 'astronomy-engine';
import type { Vector } from './projection.js';
import { luminanceOfMagnitude, twilightMagnitude } from './skyBrightness.js';

/** Where a body stands, degrees; altitude is geometric (no refraction) unless said, azimuth from north through east. */
export interface Place {
  readonly altitudeDeg: number;
  readonly azimuthDeg: number;
}

/** The Sun's centre at its rising and setting: refraction and half its disc (Astronomical Almanac). */
export const SUNSET_DEG = -0.83;
/** Nautical dusk: with the Sun higher, core and stars drown. */
export const NAUTICAL_DUSK_DEG = -12;

/** Sgr A*, J2000 (Reid and Brunthaler 2004, ApJ 616, 872): what photographers call the core of the Milky Way. */
export const GALACTIC_CORE = { raHours: 17 + 45 / 60 + 40.04 / 3600, decDeg: -(29 + 0 / 60 + 28.1 / 3600) };

/** Geometric altitude and azimuth of the body's centre, from the place on Earth (topocentric). By astronomy-engine (VSOP87, about 1'). */
export function bodyPlace(body: 'Sun' | 'Moon', at: Date, latitudeDeg: number, longitudeDeg: number): Place {
  const observer = new Observer(latitudeDeg, longitudeDeg, 0);
  const equator = Equator(body === 'Sun' ? Body.Sun : Body.Moon, at, observer, true, true);
  return horizontal(at, observer, equator.ra, equator.dec);
}

/** The core's place; precession since J2000 is carried along. */
export function corePlace(at: Date, latitudeDeg: number, longitudeDeg: number): Place {
  const observer = new Observer(latitudeDeg, longitudeDeg, 0);
  const { raHours, decDeg } = precess(GALACTIC_CORE.raHours, GALACTIC_CORE.decDeg, at);
  return horizontal(at, observer, raHours, decDeg);
}

/** Altitude (geometric) and azimuth of a direction given in J2000 axes. */
export function placeOf([x, y, z]: Vector, at: Date, latitudeDeg: number, longitudeDeg: number): Place {
  // astronomy-engine's horizontal axes: x north, y west, z up.
  const local = RotateVector(
    Rotation_EQJ_HOR(at, new Observer(latitudeDeg, longitudeDeg, 0)),
    new EngineVector(x, y, z, MakeTime(at)),
  );
  return {
    altitudeDeg: (Math.asin(Math.max(-1, Math.min(1, local.z))) * 180) / Math.PI,
    azimuthDeg: ((Math.atan2(-local.y, local.x) * 180) / Math.PI + 360) % 360,
  };
}

/** The zenith of a place, J2000 axes. */
export function zenithAt(at: Date, latitudeDeg: number, longitudeDeg: number): Vector {
  const { x, y, z } = RotateVector(
    Rotation_HOR_EQJ(at, new Observer(latitudeDeg, longitudeDeg, 0)),
    new EngineVector(0, 0, 1, MakeTime(at)),
  );
  return [x, y, z];
}

/** Angle at the Moon between Sun and Earth: 0 at full Moon, degrees. */
export function moonPhaseAngle(at: Date): number {
  return Illumination(Body.Moon, at).phase_angle;
}

/** Lit fraction of the Moon's disc, 0 to 1. */
export function moonLitFraction(at: Date): number {
  return Illumination(Body.Moon, at).phase_fraction;
}

function horizontal(at: Date, observer: Observer, raHours: number, decDeg: number): Place {
  const { altitude, azimuth } = Horizon(at, observer, raHours, decDeg);
  return { altitudeDeg: altitude, azimuthDeg: azimuth };
}

/** Precession in right ascension and declination, first order in time since J2000: m = 3.07496 s, n = 1.33621 s = 20.0431" a year (Meeus, 21). */
function precess(raHours: number, decDeg: number, at: Date): { raHours: number; decDeg: number } {
  const years = (at.getTime() - Date.UTC(2000, 0, 1, 12)) / (365.25 * 86_400_000);
  const ra = (raHours * Math.PI) / 12;
  const dec = (decDeg * Math.PI) / 180;
  return {
    raHours: raHours + ((3.07496 + 1.33621 * Math.sin(ra) * Math.tan(dec)) * years) / 3600,
    decDeg: decDeg + (20.0431 * Math.cos(ra) * years) / 3600,
  };
}

/** Brightness of the zenith in twilight over full dark, stops. Null when the Sun is higher than the fit; 0 beyond it. */
export function twilightStops(sunAltitudeDeg: number): number | null {
  if (sunAltitudeDeg > -5) return null;
  const magnitude = twilightMagnitude(sunAltitudeDeg);
  if (magnitude === null) return 0;
  const dark = luminanceOfMagnitude(DARK_MAGNITUDE);
  return Math.log2((luminanceOfMagnitude(magnitude) + dark) / dark);
}

/** The dark sky of the site that the twilight fit was made at (Patat 2003: 21.6 to 21.7). */
const DARK_MAGNITUDE = 21.7;

const POINTS = ['north', 'north-east', 'east', 'south-east', 'south', 'south-west', 'west', 'north-west'] as const;

export function compassWord(azimuthDeg: number): string {
  return POINTS[Math.round((((azimuthDeg % 360) + 360) % 360) / 45) % 8]!;
}

/** Moments of a night; null where the Sun does not come to that depth, or the Moon does not cross the horizon. */
export interface SunMoments {
  readonly sunset: Date | null;
  readonly civilDusk: Date | null;
  readonly nauticalDusk: Date | null;
  readonly astronomicalDusk: Date | null;
  readonly astronomicalDawn: Date | null;
  readonly nauticalDawn: Date | null;
  readonly civilDawn: Date | null;
  readonly sunrise: Date | null;
}

/**
 * Twilights between two moments: Sun's centre at -6, -12, -18 degrees; upper limb on the horizon with 34' of refraction for set and rise (USNO
 * definitions). By astronomy-engine.
 */
export function sunMoments(from: Date, to: Date, latitudeDeg: number, longitudeDeg: number): SunMoments {
  const observer = new Observer(latitudeDeg, longitudeDeg, 0);
  const days = (to.getTime() - from.getTime()) / 86_400_000;
  const setting = (altitude: number): Date | null =>
    SearchAltitude(Body.Sun, observer, -1, from, days, altitude)?.date ?? null;
  const rising = (altitude: number): Date | null =>
    SearchAltitude(Body.Sun, observer, 1, from, days, altitude)?.date ?? null;
  return {
    sunset: SearchRiseSet(Body.Sun, observer, -1, from, days)?.date ?? null,
    civilDusk: setting(-6),
    nauticalDusk: setting(-12),
    astronomicalDusk: setting(-18),
    astronomicalDawn: rising(-18),
    nauticalDawn: rising(-12),
    civilDawn: rising(-6),
    sunrise: SearchRiseSet(Body.Sun, observer, 1, from, days)?.date ?? null,
  };
}

/** Moonrise and moonset between two moments (upper limb, refraction as for the Sun). */
export function moonMoments(
  from: Date,
  to: Date,
  latitudeDeg: number,
  longitudeDeg: number,
): { readonly rise: Date | null; readonly set: Date | null } {
  const observer = new Observer(latitudeDeg, longitudeDeg, 0);
  const days = (to.getTime() - from.getTime()) / 86_400_000;
  return {
    rise: SearchRiseSet(Body.Moon, observer, 1, from, days)?.date ?? null,
    set: SearchRiseSet(Body.Moon, observer, -1, from, days)?.date ?? null,
  };
}

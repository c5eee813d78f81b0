import { bodyPlace, corePlace, moonPhaseAngle, type Place } from '../physics/ephemeris.js';
import {
  darkSkyNanolamberts,
  GOOD_EXTINCTION,
  magnitudeOfNanolamberts,
  moonNanolamberts,
  nanolambertsOfMagnitude,
  twilightMagnitude,
} from '../physics/skyBrightness.js';

/** A place on Earth. */
export interface Spot {
  readonly latitudeDeg: number;
  readonly longitudeDeg: number;
}

export interface NightMoment {
  readonly at: Date;
  readonly sunAltitude: number;
  readonly moonAltitude: number;
  readonly core: Place;
  /** Sky where the core is; null in bright twilight and by day. */
  readonly magnitude: number | null;
}

/** The sky is judged at the core, or this high where the core is lower or down. */
const LOWEST_LOOK_DEG = 20;

/** Sun, Moon, core and the brightness of the sky at a moment. */
export function momentOfNight(at: Date, { latitudeDeg, longitudeDeg }: Spot, zenithMagnitude: number): NightMoment {
  const sunAltitude = bodyPlace('Sun', at, latitudeDeg, longitudeDeg).altitudeDeg;
  const moon = bodyPlace('Moon', at, latitudeDeg, longitudeDeg);
  const core = corePlace(at, latitudeDeg, longitudeDeg);
  const look = { altitudeDeg: Math.max(LOWEST_LOOK_DEG, core.altitudeDeg), azimuthDeg: core.azimuthDeg };
  return {
    at,
    sunAltitude,
    moonAltitude: moon.altitudeDeg,
    core,
    magnitude: skyAt(look, sunAltitude, moon, moonPhaseAngle(at), zenithMagnitude),
  };
}

/** Natural sky, moonlight and twilight together; null when the Sun is higher than the twilight fit. */
function skyAt(
  look: Place,
  sunAltitude: number,
  moon: Place,
  phaseAngleDeg: number,
  zenithMagnitude: number,
): number | null {
  if (sunAltitude > -5) return null;
  const zenithDistanceDeg = 90 - look.altitudeDeg;
  const extinction = GOOD_EXTINCTION;
  const dark = darkSkyNanolamberts(nanolambertsOfMagnitude(zenithMagnitude), zenithDistanceDeg, extinction);
  const moonlight = moonNanolamberts({
    phaseAngleDeg,
    altitudeDeg: moon.altitudeDeg,
    apartDeg: apartOf(look, moon),
    zenithDistanceDeg,
    extinction,
  });
  const twilight = twilightMagnitude(sunAltitude);
  return magnitudeOfNanolamberts(dark + moonlight + (twilight === null ? 0 : nanolambertsOfMagnitude(twilight)));
}

function apartOf(a: Place, b: Place): number {
  const radians = Math.PI / 180;
  const cosine =
    Math.sin(a.altitudeDeg * radians) * Math.sin(b.altitudeDeg * radians) +
    Math.cos(a.altitudeDeg * radians) *
      Math.cos(b.altitudeDeg * radians) *
      Math.cos((a.azimuthDeg - b.azimuthDeg) * radians);
  return Math.acos(Math.max(-1, Math.min(1, cosine))) / radians;
}

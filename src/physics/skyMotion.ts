import {
  Body,
  Equator,
  MakeTime,
  Observer,
  Rotation_EQD_EQJ,
  RotateVector,
  Vector as EngineVector,
} from 'astronomy-engine';
import type { Camera, Spot } from './camera.js';
import { spotOf } from './camera.js';
import { GALACTIC_CORE } from './ephemeris.js';
import { multiply, rotate, turnAbout, unitVector, type Vector } from './projection.js';
import { SIDEREAL_RATE_ARCSEC_PER_S } from './trailing.js';

/** Radians that the sky turns in a second of time. */
const TURN_PER_SECOND = ((SIDEREAL_RATE_ARCSEC_PER_S / 3600) * Math.PI) / 180;

/** The celestial pole of a date in J2000 axes (precession and nutation by astronomy-engine): the sky turns about it. */
export function poleOfDate(at: Date): Vector {
  const pole = RotateVector(Rotation_EQD_EQJ(at), new EngineVector(0, 0, 1, MakeTime(at)));
  return [pole.x, pole.y, pole.z];
}

/** Where a camera that stands still on the Earth sees a direction (J2000) `seconds` after the moment of its attitude. */
export function spotLater(camera: Camera, pole: Vector, direction: Vector, seconds: number): Spot | null {
  // The sky turns westwards: right-handed about the north pole it goes back.
  return spotOf(camera, rotate(turnAbout(pole, -TURN_PER_SECOND * seconds), direction));
}

/** The same camera `seconds` later: it stands still, the sky has turned on. */
export function cameraLater(camera: Camera, pole: Vector, seconds: number): Camera {
  return { ...camera, toCamera: multiply(camera.toCamera, turnAbout(pole, -TURN_PER_SECOND * seconds)) };
}

/** Trail of a star in an exposure of `seconds`, pixels; null where none can be. */
export function trailOf(
  camera: Camera,
  pole: Vector,
  direction: Vector,
  seconds: number,
): { readonly dx: number; readonly dy: number } | null {
  const from = spotLater(camera, pole, direction, -seconds / 2);
  const to = spotLater(camera, pole, direction, seconds / 2);
  return from === null || to === null ? null : { dx: to.x - from.x, dy: to.y - from.y };
}

/** The core of the Milky Way, J2000. */
export const CORE_DIRECTION: Vector = unitVector(GALACTIC_CORE.raHours * 15, GALACTIC_CORE.decDeg);

const WANDERERS = {
  moon: Body.Moon,
  mercury: Body.Mercury,
  venus: Body.Venus,
  mars: Body.Mars,
  jupiter: Body.Jupiter,
  saturn: Body.Saturn,
} as const;

export type Wanderer = keyof typeof WANDERERS;

export function isWanderer(name: string): name is Wanderer {
  return Object.hasOwn(WANDERERS, name);
}

/** Direction (J2000) of the Moon or a planet; the Moon's is up to a degree off without a place. By astronomy-engine. */
export function wandererDirection(
  name: Wanderer,
  at: Date,
  place: { readonly latitudeDeg: number; readonly longitudeDeg: number } | null,
): Vector {
  const { ra, dec } = Equator(
    WANDERERS[name],
    at,
    new Observer(place?.latitudeDeg ?? 0, place?.longitudeDeg ?? 0, 0),
    false,
    true,
  );
  return unitVector(ra * 15, dec);
}

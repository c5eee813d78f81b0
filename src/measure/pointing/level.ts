import type { Camera } from '../../physics/camera.js';
import { placeOf, zenithAt } from '../../physics/ephemeris.js';
import { rotate } from '../../physics/projection.js';
import { centreOf } from './pointing.js';
import { unitVector } from '../../physics/projection.js';

/** How a camera stands on the Earth, degrees: where its axis looks, and how far the frame leans (positive: its right side is low). */
export interface Stance {
  readonly azimuthDeg: number;
  readonly altitudeDeg: number;
  readonly tiltDeg: number;
}

export function stanceOf(camera: Camera, at: Date, latitudeDeg: number, longitudeDeg: number): Stance {
  const { raDeg, decDeg } = centreOf(camera);
  const { altitudeDeg, azimuthDeg } = placeOf(unitVector(raDeg, decDeg), at, latitudeDeg, longitudeDeg);
  const up = rotate(camera.toCamera, zenithAt(at, latitudeDeg, longitudeDeg));
  return { azimuthDeg, altitudeDeg, tiltDeg: (Math.atan2(-up[0], -up[1]) * 180) / Math.PI };
}

/** A tripod on rough ground is levelled to about this much by eye (common practice, no source). */
const LEVELLED_DEG = 1.5;

/** A camera at night looks from a little under the horizon upwards; nobody paints ground with it near the zenith. */
const LOWEST_AXIS_DEG = -35;
const HIGHEST_AXIS_DEG = 75;

export interface ClockCheck {
  /** The frame's clock less the sky's. */
  readonly offsetMinutes: number;
  readonly uncertaintyMinutes: number;
}

/**
 * At one moment only does the sky stand so that this frame is level: that moment against the clock's. Null when the frame cannot be level at
 * any time near, or when the moment follows too little from being level.
 */
export function checkClock(camera: Camera, at: Date, latitudeDeg: number, longitudeDeg: number): ClockCheck | null {
  const stance = (minutes: number): Stance =>
    stanceOf(camera, new Date(at.getTime() + minutes * 60_000), latitudeDeg, longitudeDeg);
  let best: number | null = null;
  const step = 10;
  let before = stance(-MOST_MINUTES);
  for (let minutes = -MOST_MINUTES + step; minutes <= MOST_MINUTES; minutes += step) {
    const now = stance(minutes);
    if (before.tiltDeg * now.tiltDeg <= 0 && Math.abs(before.tiltDeg - now.tiltDeg) < 60) {
      let [low, high] = [minutes - step, minutes];
      while (high - low > 0.05) {
        const middle = (low + high) / 2;
        if (stance(middle).tiltDeg * before.tiltDeg > 0) low = middle;
        else high = middle;
      }
      const { altitudeDeg } = stance(low);
      if (
        altitudeDeg > LOWEST_AXIS_DEG &&
        altitudeDeg < HIGHEST_AXIS_DEG &&
        (best === null || Math.abs(low) < Math.abs(best))
      )
        best = low;
    }
    before = now;
  }
  if (best === null) return null;
  const slope = Math.abs(stance(best + 1).tiltDeg - stance(best - 1).tiltDeg) / 2;
  const uncertaintyMinutes = LEVELLED_DEG / Math.max(1e-6, slope);
  return uncertaintyMinutes > 45 ? null : { offsetMinutes: -best, uncertaintyMinutes };
}

const MOST_MINUTES = 720;

import type { Camera, Spot } from '../../physics/camera.js';
import type { Vector } from '../../physics/projection.js';
import { spotLater } from '../../physics/skyMotion.js';
import type { SkyTest } from './framing.js';

/** Seconds from mid-exposure at which a track has its points: every ten minutes, on the clock's tens. */
export const TRACK_STEP_SECONDS = 600;

/** A body whose direction (J2000) may change with time; `upAt` says whether it is above the horizon (true when nobody knows). */
export interface Body {
  readonly directionAt: (seconds: number) => Vector;
  readonly upAt: (seconds: number) => boolean;
}

type Seen = 'sky' | 'behind-ground' | 'out-of-frame' | 'below-horizon';

export interface Moment {
  readonly seconds: number;
  readonly spot: Spot | null;
  readonly seen: Seen;
}

/** A camera on its tripod, and the sky turning over it; times in seconds from mid-exposure. */
export interface Standing {
  readonly camera: Camera;
  readonly pole: Vector;
  readonly isSky: SkyTest;
}

export function momentAt({ camera, pole, isSky }: Standing, body: Body, seconds: number): Moment {
  const spot = spotLater(camera, pole, body.directionAt(seconds), seconds);
  if (!body.upAt(seconds)) return { seconds, spot, seen: 'below-horizon' };
  const inside =
    spot !== null && spot.x >= 0 && spot.y >= 0 && spot.x <= camera.widthPx - 1 && spot.y <= camera.heightPx - 1;
  return { seconds, spot, seen: !inside ? 'out-of-frame' : isSky(spot.x, spot.y) ? 'sky' : 'behind-ground' };
}

/**
 * When the body crosses the vertical line through `x` in the sky of the frame, above `y` where that is given; the crossing nearest to the
 * frame's own time. To a second by halving.
 */
export function crossingOf(
  standing: Standing,
  body: Body,
  { x, y }: { readonly x: number; readonly y: number | null },
  from: number,
  to: number,
): Moment | null {
  const step = 120;
  const offAt = (seconds: number): number | null => {
    const { spot } = momentAt(standing, body, seconds);
    return spot === null ? null : spot.x - x;
  };
  let best: Moment | null = null;
  let before = offAt(from);
  for (let seconds = from + step; seconds <= to; seconds += step) {
    const off = offAt(seconds);
    if (before !== null && off !== null && Math.sign(before) !== Math.sign(off)) {
      const moment = momentAt(standing, body, halved(offAt, seconds - step, seconds));
      const above = moment.spot !== null && (y === null || moment.spot.y <= y + 0.02 * standing.camera.heightPx);
      if (moment.seen === 'sky' && above && (best === null || Math.abs(moment.seconds) < Math.abs(best.seconds)))
        best = moment;
    }
    before = off;
  }
  return best;
}

/** Where the body goes from one kind of place to another: behind the ridge, out of the frame. To a second. */
export function changesOf(standing: Standing, body: Body, from: number, to: number): Moment[] {
  const step = 120;
  const found: Moment[] = [];
  let before = momentAt(standing, body, from);
  for (let seconds = from + step; seconds <= to; seconds += step) {
    const now = momentAt(standing, body, seconds);
    if ((now.seen === 'sky') !== (before.seen === 'sky')) {
      let [low, high] = [seconds - step, seconds];
      while (high - low > 1) {
        const middle = (low + high) / 2;
        if ((momentAt(standing, body, middle).seen === 'sky') === (before.seen === 'sky')) low = middle;
        else high = middle;
      }
      found.push(momentAt(standing, body, high));
    }
    before = now;
  }
  return found;
}

function halved(offAt: (seconds: number) => number | null, from: number, to: number): number {
  let [low, high] = [from, to];
  const sign = Math.sign(offAt(low) ?? 0);
  while (high - low > 0.5) {
    const middle = (low + high) / 2;
    if (Math.sign(offAt(middle) ?? 0) === sign) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}

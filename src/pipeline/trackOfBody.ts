import { namedStar } from '../calibration/brightStars.js';
import {
  changesOf,
  crossingOf,
  momentAt,
  TRACK_STEP_SECONDS,
  type Body,
  type Moment,
  type Standing,
} from '../measure/pointing/bodyTrack.js';
import type { BodyTrack, SkyReading, TrackPoint } from '../model/sky.js';
import { bodyPlace, compassWord, NAUTICAL_DUSK_DEG, placeOf, SUNSET_DEG } from '../physics/ephemeris.js';
import { clockOf, isoIn } from '../physics/localTime.js';
import { unitVector, type Vector } from '../physics/projection.js';
import { CORE_DIRECTION, isWanderer, wandererDirection } from '../physics/skyMotion.js';
import { later, type FrameTime } from './frameTime.js';

/** How far a night is looked through where nobody knows when the Sun sets, seconds. */
const HALF_NIGHT = 6 * 3600;

/** The body's way across this framing through the night. Null when the frame has no time. */
export function trackOf(
  name: string,
  standing: Standing,
  time: FrameTime,
  subject: SkyReading['subject'],
): BodyTrack | null {
  if (!time.known) return null;
  // The Moon and planets move among the stars: without a zone their place is not known.
  if (isWanderer(name) && time.zone === null)
    return {
      body: name,
      track: [],
      overSubjectAt: null,
      overSubjectAltitudeDeg: null,
      says: `Where the ${name} stands is not known without the zone of the camera's clock: give --tz.`,
    };
  const directionAt = (seconds: number): Vector =>
    isWanderer(name) ? wandererDirection(name, later(time, seconds), time.place) : fixedDirection(name);
  const heightAt = (seconds: number): { altitudeDeg: number; azimuthDeg: number } | null =>
    time.place === null || time.zone === null
      ? null
      : placeOf(directionAt(seconds), later(time, seconds), time.place.latitudeDeg, time.place.longitudeDeg);
  const body: Body = { directionAt, upAt: (seconds) => (heightAt(seconds)?.altitudeDeg ?? 1) > 0 };
  const [from, to] = nightAround(time, isWanderer(name) ? SUNSET_DEG : NAUTICAL_DUSK_DEG);
  const tell = (moment: Moment): string => isoIn(later(time, moment.seconds), time.zone);
  const track: TrackPoint[] = tens(time, from, to).map((seconds) => {
    const moment = momentAt(standing, body, seconds);
    const height = heightAt(seconds);
    return {
      at: tell(moment),
      x: moment.spot === null ? null : rounded(moment.spot.x, 1),
      y: moment.spot === null ? null : rounded(moment.spot.y, 1),
      altitudeDeg: height === null ? null : rounded(height.altitudeDeg, 2),
      azimuthDeg: height === null ? null : rounded(height.azimuthDeg, 2),
      seen: moment.seen,
    };
  });
  const over = subject === null ? null : crossingOf(standing, body, subject, from, to);
  const height = over === null ? null : heightAt(over.seconds);
  return {
    body: name,
    track,
    overSubjectAt: over === null ? null : tell(over),
    overSubjectAltitudeDeg: height === null ? null : rounded(height.altitudeDeg, 1),
    says: trackInWords(name, {
      now: momentAt(standing, body, 0),
      changes: withoutGlimpses(changesOf(standing, body, from, to)),
      over,
      height,
      tell,
      hasSubject: subject !== null,
    }),
  };
}

/**
 * Around the frame, from when the Sun is so low until it is so no more; from sunset to sunrise where the frame itself was taken in
 * brighter twilight, and half a night each way where the place is not known.
 */
function nightAround(time: FrameTime, sunDeg: number): readonly [number, number] {
  const { place, zone } = time;
  if (place === null || zone === null) return [-HALF_NIGHT, HALF_NIGHT];
  const isUp = (seconds: number): boolean =>
    bodyPlace('Sun', later(time, seconds), place.latitudeDeg, place.longitudeDeg).altitudeDeg > sunDeg;
  if (isUp(0)) return sunDeg === SUNSET_DEG ? [-HALF_NIGHT, HALF_NIGHT] : nightAround(time, SUNSET_DEG);
  const edge = (direction: 1 | -1): number => {
    let seconds = 0;
    while (Math.abs(seconds) < 12 * 3600 && !isUp(seconds)) seconds += direction * 300;
    return seconds;
  };
  return [edge(-1), edge(1)];
}

/** Seconds of the clock's full ten minutes in a span. */
function tens({ moment }: FrameTime, from: number, to: number): number[] {
  const step = TRACK_STEP_SECONDS * 1000;
  const first = Math.ceil((moment.getTime() + from * 1000) / step) * step;
  const found: number[] = [];
  for (let at = first; at <= moment.getTime() + to * 1000; at += step) found.push((at - moment.getTime()) / 1000);
  return found;
}

function fixedDirection(name: string): Vector {
  const star = name === 'core' ? null : namedStar(name);
  return star === null ? CORE_DIRECTION : unitVector(star.rightAscensionDeg, star.declinationDeg);
}

/** Behind a branch or a notch for less than this is not worth a word, seconds. */
const GLIMPSE = 420;

export function withoutGlimpses(changes: readonly Moment[]): Moment[] {
  const kept: Moment[] = [];
  for (const change of changes) {
    const last = kept.at(-1);
    if (last !== undefined && change.seconds - last.seconds < GLIMPSE) kept.pop();
    else kept.push(change);
  }
  return kept;
}

interface TrackStory {
  readonly now: Moment;
  readonly changes: readonly Moment[];
  readonly over: Moment | null;
  readonly height: { readonly altitudeDeg: number; readonly azimuthDeg: number } | null;
  readonly tell: (moment: Moment) => string;
  readonly hasSubject: boolean;
}

const PLACES: Readonly<Record<Moment['seen'], string>> = {
  sky: 'in the sky of this frame',
  'behind-ground': 'behind the ground',
  'out-of-frame': 'outside the frame',
  'below-horizon': 'below the horizon',
};

/** "Over the subject at 02:10, 41 degrees high, in the south. In the sky of this frame from 00:35 to 03:50." */
function trackInWords(name: string, { now, changes, over, height, tell, hasSubject }: TrackStory): string {
  const who =
    name === 'core' ? 'The core' : name === 'moon' ? 'The Moon' : name.charAt(0).toUpperCase() + name.slice(1);
  const clock = (moment: Moment): string => clockOf(tell(moment));
  const said: string[] = [];
  if (over !== null) {
    const high =
      height === null ? '' : `, ${height.altitudeDeg.toFixed(0)}° high in the ${compassWord(height.azimuthDeg)}`;
    said.push(`${who} stands over the subject at ${clock(over)}${high}.`);
  } else if (hasSubject) said.push(`${who} does not stand over the subject in the sky of this framing that night.`);
  else said.push('No painted ground was found to stand over: give the subject with --at X,Y.');
  said.push(`When the frame was taken it was ${PLACES[now.seen]}.`);
  for (const change of changes)
    said.push(
      change.seen === 'sky'
        ? `It comes into view at ${clock(change)}.`
        : `It goes ${PLACES[change.seen]} at ${clock(change)}.`,
    );
  return said.join(' ');
}

function rounded(value: number, digits: number): number {
  return Number(value.toFixed(digits));
}

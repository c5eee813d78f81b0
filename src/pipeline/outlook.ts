import { changesOf, type Standing } from '../measure/pointing/bodyTrack.js';
import { solvePointing } from '../measure/pointing/solve.js';
import type { StarPoint } from '../measure/pointing/starPoints.js';
import { paintedSubject, skyTest, type Framing } from '../measure/pointing/framing.js';
import type { FrameRecord } from '../model/night.js';
import type { Outlook } from '../model/sky.js';
import type { Camera } from '../physics/camera.js';
import { placeOf, sunMoments } from '../physics/ephemeris.js';
import { clockOf, isoIn } from '../physics/localTime.js';
import { cameraLater, CORE_DIRECTION, poleOfDate } from '../physics/skyMotion.js';
import type { Whereabouts } from './frameTime.js';
import { later, timeOf, type FrameTime } from './frameTime.js';
import { trackOf, withoutGlimpses } from './trackOfBody.js';

/** Where a frame that was read looks, from the stars that were kept of it; null when it cannot be told or its lens is not known. */
export function cameraOf(record: FrameRecord): Camera | null {
  const { reading, starPoints } = record;
  const { widthPx, heightPx, focalMm, pixelPitchUm } = reading.settings;
  if (focalMm === null || pixelPitchUm === null || starPoints === undefined) return null;
  const points = starPoints.map(([x, y, flux, contrast]): StarPoint => ({ x, y, flux, contrast }));
  const view = { widthPx, heightPx, focalPx: (focalMm * 1000) / pixelPitchUm, isSky: skyTest(framingOf(record)) };
  return solvePointing(points, view)?.camera ?? null;
}

function framingOf({ glance, reading }: FrameRecord): Framing {
  const { width, height, regions } = glance;
  return { width, height, regions, spanX: reading.settings.widthPx, spanY: reading.settings.heightPx };
}

/** A setup's camera, and the moment that it was found at. */
export interface SetupCamera {
  readonly camera: Camera;
  readonly moment: Date;
}

/** The camera of an earlier frame of the setup with the sky turned on since; without one it is searched for. */
export function setupCamera(
  record: FrameRecord,
  earlier: SetupCamera | null,
  maySearch: boolean,
  where: Whereabouts,
): SetupCamera | null {
  const { moment } = timeOf(record.reading.settings, where);
  if (earlier !== null) {
    const seconds = (moment.getTime() - earlier.moment.getTime()) / 1000;
    return { camera: cameraLater(earlier.camera, poleOfDate(moment), seconds), moment };
  }
  const camera = maySearch ? cameraOf(record) : null;
  return camera === null ? null : { camera, moment };
}

/** What is left of the night for this framing: when the core stands over the subject, when it leaves its sky, when dawn begins. */
export function outlookOf(
  record: FrameRecord,
  camera: Camera | null,
  where: Whereabouts,
  tells: 'clock' | 'time left',
): Outlook | null {
  const { settings } = record.reading;
  const time = timeOf(settings, where);
  if (!time.known) return null;
  const dawn = dawnAfter(time);
  const tell = (seconds: number): string => isoIn(later(time, seconds), time.zone);
  const left = (seconds: number): string =>
    tells === 'clock' ? '' : seconds > 0 ? ` (in ${span(seconds)})` : ' (past)';
  const said: string[] = [];
  let overSubjectAt: string | null = null;
  let leavesSkyAt: string | null = null;
  if (camera !== null) {
    const framing = framingOf(record);
    const standing: Standing = {
      camera,
      pole: poleOfDate(time.moment),
      isSky: skyTest(framing),
    };
    const painted = paintedSubject(framing);
    const subject = painted === null ? null : { ...painted, from: 'painted' as const };
    const track = trackOf('core', standing, time, subject);
    overSubjectAt = track?.overSubjectAt ?? null;
    const changes = withoutGlimpses(
      changesOf(standing, { directionAt: () => CORE_DIRECTION, upAt: (seconds) => isUp(time, seconds) }, 0, LOOK_AHEAD),
    );
    const leaves = changes.find(({ seen }) => seen !== 'sky');
    const back = changes.find(
      ({ seen, seconds }) => seen === 'sky' && leaves !== undefined && seconds > leaves.seconds,
    );
    leavesSkyAt = leaves === undefined ? null : tell(leaves.seconds);
    if (overSubjectAt !== null) {
      const seconds = secondsTo(overSubjectAt, time);
      said.push(
        `the core ${seconds > 0 ? 'stands' : 'stood'} over the subject at ${clockOf(overSubjectAt)}${left(seconds)}`,
      );
    }
    if (leaves !== undefined) {
      const returns = back === undefined ? '' : ` and comes back at ${clockOf(tell(back.seconds))}`;
      said.push(`the core leaves the sky of this framing at ${clockOf(leavesSkyAt!)}${left(leaves.seconds)}${returns}`);
    }
  }
  if (dawn !== null) said.push(`dark ends at ${clockOf(tell(dawn))}${left(dawn)}`);
  if (said.length === 0) return null;
  const text = said.join('; ');
  return {
    overSubjectAt,
    leavesSkyAt,
    darkEndsAt: dawn === null ? null : tell(dawn),
    says: `${text.charAt(0).toUpperCase()}${text.slice(1)}.`,
  };
}

const LOOK_AHEAD = 8 * 3600;

function isUp({ place, zone, ...time }: FrameTime, seconds: number): boolean {
  if (place === null || zone === null) return true;
  const at = later({ ...time, place, zone }, seconds);
  return placeOf(CORE_DIRECTION, at, place.latitudeDeg, place.longitudeDeg).altitudeDeg > 0;
}

/** Seconds until the Sun comes to 18 degrees under the horizon; null when the place is not known or it is not dark now. */
function dawnAfter({ moment, place, zone }: FrameTime): number | null {
  if (place === null || zone === null) return null;
  const end = new Date(moment.getTime() + 86_400_000);
  const { astronomicalDawn, astronomicalDusk } = sunMoments(moment, end, place.latitudeDeg, place.longitudeDeg);
  // Dusk before dawn: it is not dark yet, and dawn is another night's end.
  if (astronomicalDawn === null || (astronomicalDusk !== null && astronomicalDusk < astronomicalDawn)) return null;
  return (astronomicalDawn.getTime() - moment.getTime()) / 1000;
}

function secondsTo(iso: string, { moment, zone }: FrameTime): number {
  return (Date.parse(zone === null ? `${iso}Z` : iso) - moment.getTime()) / 1000;
}

function span(seconds: number): string {
  const minutes = Math.round(seconds / 60);
  return minutes < 60
    ? `${String(minutes)} min`
    : `${String(Math.floor(minutes / 60))} h ${String(minutes % 60).padStart(2, '0')}`;
}

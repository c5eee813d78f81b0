import type { Standing } from '../measure/pointing/bodyTrack.js';
import { checkClock, stanceOf } from '../measure/pointing/level.js';
import { paintedSubject, skyTest, type Framing } from '../measure/pointing/framing.js';
import { centreOf, findPointing } from '../measure/pointing/pointing.js';
import type { Solution } from '../measure/pointing/solve.js';
import { checkTrails, mapShutter } from '../measure/pointing/trails.js';
import type { Grid } from '../model/regions.js';
import type { SkyReading } from '../model/sky.js';
import type { Camera } from '../physics/camera.js';
import { poleOfDate } from '../physics/skyMotion.js';
import type { Whereabouts } from './frameTime.js';
import { timeOf } from './frameTime.js';
import type { FrameResult } from './readOneFrame.js';
import { trackOf } from './trackOfBody.js';

export interface SkyQuestion {
  readonly where: Whereabouts;
  /** Upright pixel of the subject; null: the middle of the painted ground. */
  readonly at: { readonly x: number; readonly y: number } | null;
  /** Another body beside the core: the Moon, a planet or a named star. */
  readonly body: string | null;
}

type SkySource = Pick<FrameResult, 'reading' | 'grid' | 'regions' | 'shapes' | 'detection'>;

/** A frame's sky, and what its pictures are drawn with. */
export interface SkyResult {
  readonly reading: SkyReading;
  readonly camera: Camera | null;
}

/** Where the frame looks, how its stars must trail, and when the core and another body stand over the subject. */
export function skyOfFrame(source: SkySource, { where, at, body }: SkyQuestion): SkyResult {
  const { reading, grid, regions, shapes, detection } = source;
  const { settings, file } = reading;
  const framing = framingOf(grid, regions.mask);
  const isSky = skyTest(framing);
  const { solution, points } = findPointing(settings, grid, detection, isSky);
  const time = timeOf(settings, where);
  const painted = paintedSubject(framing);
  const subject =
    at !== null
      ? { ...at, from: 'given' as const }
      : painted === null
        ? null
        : { ...painted, from: 'painted' as const };
  if (solution === null) return { reading: unsolved(file, points, subject), camera: null };
  const { camera } = solution;
  const standing: Standing = { camera, pole: poleOfDate(time.moment), isSky };
  const { raDeg, decDeg, rollDeg } = centreOf(camera);
  const { place } = time;
  const stance =
    place === null || time.zone === null ? null : stanceOf(camera, time.moment, place.latitudeDeg, place.longitudeDeg);
  const clock =
    place === null || time.zone === null
      ? null
      : checkClock(camera, time.moment, place.latitudeDeg, place.longitudeDeg);
  const allowed = reading.stars.limit.trailPxAllowed;
  const { shutterSeconds } = settings;
  return {
    camera,
    reading: {
      schema: 'paintstop.sky/1',
      file,
      solved: true,
      why: null,
      centre: { raDeg: rounded(raDeg, 4), decDeg: rounded(decDeg, 4) },
      rollDeg: rounded(rollDeg, 3),
      scaleArcsecPerPx: rounded(206264.806 / camera.focalPx, 3),
      projection: camera.projection,
      focalPx: rounded(camera.focalPx, 1),
      distortion: [rounded(camera.distortion[0], 4), rounded(camera.distortion[1], 4)],
      residualPx: rounded(solution.residualPx, 2),
      matched: solution.matched,
      confidence: confidenceOf(solution),
      aim:
        stance === null
          ? null
          : {
              azimuthDeg: rounded(stance.azimuthDeg, 1),
              altitudeDeg: rounded(stance.altitudeDeg, 1),
              tiltDeg: rounded(stance.tiltDeg, 1),
            },
      trail: shutterSeconds === null ? null : checkTrails(camera, standing.pole, shutterSeconds, isSky, shapes),
      shutterMap: allowed === null ? null : mapShutter(camera, standing.pole, isSky, allowed),
      subject,
      core: trackOf('core', standing, time, subject),
      other: body === null || body === 'core' ? null : trackOf(body, standing, time, subject),
      clockOffsetMinutes: clock === null ? null : Math.round(clock.offsetMinutes),
      clockSays: clock === null ? null : clockInWords(clock.offsetMinutes, clock.uncertaintyMinutes),
    },
  };
}

/** The grid's regions; its blocks are whole, so that the frame's last rest of a block is left out. */
export function framingOf({ width, height, blockPx }: Grid, mask: Uint8Array): Framing {
  return { width, height, regions: mask, spanX: width * blockPx, spanY: height * blockPx };
}

function unsolved(file: string, points: number, subject: SkyReading['subject']): SkyReading {
  return {
    schema: 'paintstop.sky/1',
    file,
    solved: false,
    why:
      points < 7
        ? 'Not enough stars to tell where the frame looks.'
        : 'The stars of this frame fit no part of the sky for sure: too few are clear of cloud, glow and ground, or the focal length in the file is wrong.',
    centre: null,
    rollDeg: null,
    scaleArcsecPerPx: null,
    projection: null,
    focalPx: null,
    distortion: null,
    residualPx: null,
    matched: null,
    confidence: 0,
    aim: null,
    trail: null,
    shutterMap: null,
    subject,
    core: null,
    other: null,
    clockOffsetMinutes: null,
    clockSays: null,
  };
}

/** Chance agreement of 1 to 10^40 and less is as good as certain. */
function confidenceOf({ evidence }: Solution): number {
  return rounded(Math.min(1, evidence / 40), 2);
}

/** A clock off by less than this, or than its own uncertainty, agrees. */
const AGREES_MINUTES = 12;

function clockInWords(offset: number, uncertainty: number): string {
  const sure = `±${String(Math.max(1, Math.round(uncertainty)))} min, if the camera stood level`;
  if (Math.abs(offset) < Math.max(AGREES_MINUTES, 1.5 * uncertainty))
    return `The camera's clock agrees with the sky (${sure}).`;
  const hours = Math.round(offset / 60);
  const isHours = hours !== 0 && Math.abs(offset - 60 * hours) < Math.max(6, uncertainty);
  const hint = isHours ? ': daylight saving, or another zone?' : '.';
  return `The camera's clock is about ${String(Math.abs(Math.round(offset)))} minutes ${offset > 0 ? 'ahead of' : 'behind'} the sky (${sure})${hint}`;
}

function rounded(value: number, digits: number): number {
  return Number(value.toFixed(digits));
}

import type { Warning } from '../model/frame.js';
import type { Failure, FrameRecord, Night, NightFrame, Setup, SkyMoment } from '../model/night.js';
import { bodyPlace, compassWord, corePlace, moonLitFraction, twilightStops, SUNSET_DEG } from '../physics/ephemeris.js';
import { gradeOf } from '../sequence/grade.js';
import { groupFrames, kickInWords, type Grouped } from '../sequence/groupSetups.js';
import type { Outlook } from '../model/sky.js';
import { timeOf, type Whereabouts } from './frameTime.js';
import { contradiction } from './notesInDoubt.js';
import { cameraOf, outlookOf } from './outlook.js';
import { sincePrevious } from '../sequence/sincePrevious.js';

/** Frames within so many points of the best are picks too, up to two. */
const AS_GOOD = 5;

/** Records in any order to a graded night: in time order, in setups, compared with their neighbours. */
export function assembleNight(
  folder: string,
  records: readonly FrameRecord[],
  failed: readonly Failure[],
  where: Whereabouts,
): Night {
  const ordered = [...records].sort(
    (a, b) =>
      compareText(a.reading.settings.takenAt ?? '9', b.reading.settings.takenAt ?? '9') || compareText(a.file, b.file),
  );
  const grouped = groupFrames(ordered);
  const latest = new Map<number, FrameRecord>();
  const frames = ordered.map((record, n): NightFrame => {
    const { setup, kick } = grouped[n]!;
    const before = latest.get(setup);
    latest.set(setup, record);
    const since = before === undefined ? null : sincePrevious(before, record);
    const doubted =
      before === undefined || since === null ? null : contradiction(before.reading, record.reading, since);
    return {
      ...record.reading,
      file: record.file,
      warnings: withKick([...record.reading.warnings, ...(doubted === null ? [] : [doubted])], kick),
      setup,
      grade: gradeOf(record.reading),
      sky: skyMoment(record, where),
      sincePrevious: since,
    };
  });
  return {
    schema: 'paintstop.night/1',
    folder,
    frames,
    setups: setupsOf(frames, new Map(ordered.map((record) => [record.file, record])), where),
    failed: [...failed].sort((a, b) => compareText(a.file, b.file)),
  };
}

/** The frame that a kick of the tripod brought says so. */
export function withKick(warnings: readonly Warning[], kick: Grouped['kick']): readonly Warning[] {
  return kick === null ? warnings : [{ code: 'tripod-moved', message: kickInWords(kick) }, ...warnings];
}

function setupsOf(
  frames: readonly NightFrame[],
  records: ReadonlyMap<string, FrameRecord>,
  where: Whereabouts,
): Setup[] {
  const ids = [...new Set(frames.map(({ setup }) => setup))].sort((a, b) => a - b);
  return ids.map((id) => {
    const own = frames.filter(({ setup }) => setup === id);
    const best = [...own].sort((a, b) => lostBy(a) - lostBy(b) || compareText(a.file, b.file));
    const picks = best.filter((frame) => lostBy(frame) <= lostBy(best[0]!) + AS_GOOD).slice(0, 2);
    return {
      id,
      frames: own.map(({ file }) => file),
      picks: picks.map(({ file }) => file),
      outlook: outlookOfSetup(own, records, where),
    };
  });
}

/** So many frames of a setup are searched for their place among the stars: all look the same way. */
const FRAMES_SEARCHED = 2;

function outlookOfSetup(
  own: readonly NightFrame[],
  records: ReadonlyMap<string, FrameRecord>,
  where: Whereabouts,
): Outlook | null {
  const starry = [...own].sort((a, b) => b.stars.count - a.stars.count).slice(0, FRAMES_SEARCHED);
  for (const { file } of starry) {
    const record = records.get(file)!;
    const camera = cameraOf(record);
    if (camera !== null) return outlookOf(record, camera, where, 'clock');
  }
  return outlookOf(records.get(own[0]!.file)!, null, where, 'clock');
}

function lostBy({ grade }: NightFrame): number {
  return grade.reasons.reduce((sum, { points }) => sum + points, 0);
}

function skyMoment({ reading }: FrameRecord, where: Whereabouts): SkyMoment | null {
  const { known, moment: middle, place, zone } = timeOf(reading.settings, where);
  if (!known || place === null || zone === null) return null;
  const { latitudeDeg: latitude, longitudeDeg: longitude } = place;
  const sun = bodyPlace('Sun', middle, latitude, longitude).altitudeDeg;
  const moon = bodyPlace('Moon', middle, latitude, longitude).altitudeDeg;
  const lit = moonLitFraction(middle);
  const core = corePlace(middle, latitude, longitude);
  return {
    sunAltitudeDeg: tenth(sun),
    moonAltitudeDeg: tenth(moon),
    moonLitFraction: Number(lit.toFixed(3)),
    coreAltitudeDeg: tenth(core.altitudeDeg),
    coreAzimuthDeg: tenth(core.azimuthDeg),
    says: [sunInWords(sun), moonInWords(moon, lit), coreInWords(core)].join(' '),
  };
}

function sunInWords(altitude: number): string {
  if (altitude > SUNSET_DEG) return 'The Sun was up.';
  const at = `Sun at ${altitude.toFixed(0)}°`;
  if (altitude <= -18) return `${at}: full dark.`;
  const stops = twilightStops(altitude);
  if (stops === null) return `${at}: bright twilight.`;
  return stops < 0.1
    ? `${at}: as good as dark.`
    : `${at}: the sky overhead was still about ${stops.toFixed(1)} stops above full dark.`;
}

function moonInWords(altitude: number, lit: number): string {
  const percent = `Moon ${(lit * 100).toFixed(0)} % lit`;
  return altitude > 0 ? `${percent} at ${altitude.toFixed(0)}°.` : `${percent}, below the horizon.`;
}

function coreInWords({ altitudeDeg, azimuthDeg }: { altitudeDeg: number; azimuthDeg: number }): string {
  return altitudeDeg > 0
    ? `Core ${altitudeDeg.toFixed(0)}° high in the ${compassWord(azimuthDeg)}.`
    : 'The core was below the horizon.';
}

function tenth(value: number): number {
  return Number(value.toFixed(1));
}

/** By code units: the same everywhere, whatever the machine's language. */
function compareText(a: string, b: string): number {
  return a < b ? -1 : a > b ? 1 : 0;
}

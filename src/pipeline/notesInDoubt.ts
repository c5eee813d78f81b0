import type { Settings, Warning } from '../model/frame.js';
import type { SincePrevious } from '../model/night.js';
import type { Light, Option, Reading } from '../model/reading.js';

/** A frame whose notes are in doubt teaches nothing of its lamps. */
export const NOTE_DOUBTS = ['count-over-shutter', 'lamps-off', 'notes-contradicted'];

/** What is wrong with the notes of the lamps, from this frame alone. */
export function doubtsOfNotes(
  lights: readonly Light[],
  { settings, regions }: Pick<Reading, 'settings' | 'regions'>,
): Warning[] {
  const off = lights.length > 0 && lights.every(({ power }) => power === 0) && regions.painted.levelStops !== null;
  const message =
    'All lamps are noted as off: what looks painted is other light, or the note is wrong. The advice leaves it out.';
  return [...impossibleCounts(lights, settings), ...(off ? [{ code: 'lamps-off', message }] : [])];
}

/** Counts that a shutter leaves no room for are slips of the pen, and advice from them is wrong. */
function impossibleCounts(lights: readonly Light[], { shutterSeconds }: Settings): Warning[] {
  if (shutterSeconds === null) return [];
  return lights
    .filter(({ kind, seconds, power }) => kind === 'held' && power !== 0 && (seconds ?? 0) > shutterSeconds)
    .map(({ name, seconds }) => ({
      code: 'count-over-shutter',
      message: `The count noted for ${name}, ${String(seconds)} s, is longer than the shutter, ${short(shutterSeconds)} s: correct the note before you trust the advice.`,
    }));
}

/** Notes and light may differ by this much besides what the light is uncertain by: hands miscount, and aim elsewhere. Stops. */
const SLACK_STOPS = 0.7;

/**
 * The notes of two tries of one setup say another change of the lamps than their light does; null where they agree or cannot be compared.
 * `between`: what the light shows.
 */
export function contradiction(
  before: Reading,
  now: Reading,
  { paintRatio, paintRatioUncertaintyStops }: Pick<SincePrevious, 'paintRatio' | 'paintRatioUncertaintyStops'>,
): Warning | null {
  const told = (says: string): Warning => ({
    code: 'notes-contradicted',
    message: `${says}: note each frame's own lamps (lights.yaml). Until then lamps are not told apart and nothing is learned of them.`,
  });
  const noted = notedChange(before, now);
  if (noted === null || paintRatio === null || paintRatio <= 0)
    return isStale(before, now)
      ? told('The lamps are noted as in the try before, though the camera stands as advised and they were to change')
      : null;
  const shown = Math.log2(paintRatio);
  const slack = SLACK_STOPS + 2 * (paintRatioUncertaintyStops ?? 0.3);
  if (shown > noted.least - slack && shown < noted.most + slack) return null;
  const byNotes =
    noted.most - noted.least < 0.1 ? inWords(noted.most) : `from ${inWords(noted.least)} to ${inWords(noted.most)}`;
  return told(`The light of the paint is ${inWords(shown)} since the try before, but ${byNotes} by the notes`);
}

/** Least and most of what the notes say the lamps' light on the ground changed by, stops; null where a lamp says too little. */
function notedChange(before: Reading, now: Reading): { least: number; most: number } | null {
  const changes: number[] = [];
  const longer = ratio(before.settings.shutterSeconds, now.settings.shutterSeconds);
  if (before.lights.length !== now.lights.length) return null;
  for (const light of now.lights) {
    const then = before.lights.find(({ name, kind }) => name === light.name && kind === light.kind);
    if (then === undefined || longer === null) return null;
    if (then.power === 0 && light.power === 0) continue;
    const [power, distance] = [ratio(then.power, light.power), ratio(then.distanceM, light.distanceM)];
    // A count that nobody noted may have been any, as with the light that is assumed where nothing was noted.
    const time = light.kind === 'stand' ? longer : light.seconds === null ? null : ratio(then.seconds, light.seconds);
    if (power === null || distance === null || time === null) return null;
    changes.push(power + time - 2 * distance);
  }
  if (changes.length === 0 || !changes.every(Number.isFinite)) return null;
  return { least: Math.min(...changes), most: Math.max(...changes) };
}

/** In stops; 0 where both are unknown, null where one is. */
function ratio(before: number | null, now: number | null): number | null {
  if (before === null && now === null) return 0;
  return before === null || now === null ? null : Math.log2(now / before);
}

function inWords(stops: number): string {
  return Math.abs(stops) < 0.1 ? 'unchanged' : `x ${String(Number((2 ** stops).toPrecision(2)))}`;
}

function short(seconds: number): string {
  return String(Number(seconds.toPrecision(3)));
}

/** A smaller change than this does little harm. */
const STALE_STOPS = 0.7;

/** The camera was set as advised, and the lamps are noted as they were though they were to be changed: one note was given for all tries. */
export function isStale(before: Reading, now: Reading): boolean {
  const option = before.advice.options[0];
  if (option === undefined) return false;
  return (
    // What has no figure in the notes cannot be noted anew.
    option.changes.some(
      ({ light, to, factor }) => light !== undefined && to !== null && Math.abs(Math.log2(factor)) > STALE_STOPS,
    ) &&
    isAsAdvised(option, now) &&
    JSON.stringify(before.lights) === JSON.stringify(now.lights)
  );
}

/** The camera stands as the option said (or was left where it said nothing): what was foretold is of this frame. */
export function isAsAdvised(option: Option, { settings }: Reading): boolean {
  return option.changes.every(({ what, to }) => {
    const now =
      what === 'iso'
        ? settings.iso
        : what === 'shutter'
          ? settings.shutterSeconds
          : what === 'aperture'
            ? settings.aperture
            : null;
    return to === null || now === null || Math.abs(Math.log2(now / to)) < 0.12;
  });
}

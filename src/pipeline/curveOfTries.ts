import { isCurveUnknown, LEAST_ERROR_STOPS, type CurveRecord } from '../calibration/cameraCurve.js';
import { toneSampleOf } from '../measure/toneSample.js';
import { srgbToLinear } from '../physics/encoding.js';
import type { Advice, Reading } from '../model/reading.js';
import type { ToneSample } from '../model/toneSample.js';
import { isAsAdvised, isStale } from './notesInDoubt.js';
import { curveKeyOf } from '../read/metadata.js';
import { curveFromTries } from '../sequence/curveFromTries.js';
import { groupSetups } from '../sequence/groupSetups.js';
import { cameraChange } from '../sequence/sincePrevious.js';
import type { Tried } from './lampsApart.js';
import type { FrameResult } from './readOneFrame.js';

/** A JPEG whose camera's curve is not known, or partly guessed, as a try of its setup. */
export interface ToneTried {
  /** Camera and picture mode. */
  readonly key: string;
  readonly mark: string;
  readonly sample: ToneSample;
  readonly record: Tried['record'];
  /** Its lamps are assumed as they were, though another setting of them was advised. */
  readonly lampsMayDiffer?: boolean;
}

/** More tries tell little more. */
const MOST_TRIES = 5;

/** What a pair of raw and JPEG shows of a code value outweighs what tries have shown. */
const WEIGHT = 40;

/** Null for a frame whose curve is known, or needs none, or whose exposure is not told. */
export async function toneTriedOf(
  bytes: Uint8Array,
  { reading, frame, grid, regions }: Pick<FrameResult, 'reading' | 'frame' | 'grid' | 'regions'>,
  record: Tried['record'],
): Promise<ToneTried | null> {
  if (!isCurveUnknown(reading.encoding)) return null;
  const guessed = reading.encoding.response === 'camera';
  const { iso, shutterSeconds, aperture } = reading.settings;
  if (iso === null || shutterSeconds === null || aperture === null) return null;
  const key = await curveKeyOf(bytes);
  const mark = `tries ${reading.settings.takenAt ?? ''} ${reading.file}`;
  return { key, mark, sample: toneSampleOf(grid, regions.mask, guessed ? frame.toLinear : null), record };
}

/** The try as it was answered in the end: what was advised after it is what the next has probably followed. */
export function withAdvice(tried: ToneTried, advice: Advice): ToneTried {
  const { record } = tried;
  return { ...tried, record: { ...record, reading: { ...record.reading, advice } } };
}

/**
 * The display curve of the last frame's camera and picture mode, from the tries of its setup, oldest first. Null too for one that is partly
 * guessed where any is known: it would be no better.
 */
export function curveOfTries(
  tries: readonly ToneTried[],
  known?: ReadonlyMap<string, CurveRecord>,
): CurveRecord | null {
  const last = tries.at(-1);
  if (last === undefined) return null;
  const setups = groupSetups(tries.map(({ record }) => ({ ...record, file: '', widestAperture: null, thumbnail: '' })));
  const alike = tries.filter(({ key }, n) => key === last.key && setups[n] === setups.at(-1));
  const own = inTime(alike).slice(-MOST_TRIES);
  if (own.some(({ record }, n) => n > 0 && isBeyondCurves(own[n - 1]!.record, record))) return null;
  const found = curveFromTries(
    own.map(({ sample, record: { reading }, lampsMayDiffer = false }, n) => {
      const before = own[n - 1]?.record.reading ?? null;
      return {
        sample,
        settings: reading.settings,
        hint: reading.curveHint,
        lights: lampsMayDiffer || (before !== null && isStale(before, reading)) ? [] : reading.lights,
        followedStops: before === null ? null : followedStops(before, reading),
      };
    }),
  );
  if (found === null || (found.partlyGuessed && known?.has(last.key))) return null;
  const bins = [];
  for (let code = 3; code <= 252; code++) {
    const shown = Math.log2(srgbToLinear(code / 255));
    if (shown < found.lowest - 0.5 || shown > found.highest + 0.2) continue;
    bins.push({ code, stops: Number(found.stopsOf(code).toFixed(4)), weight: WEIGHT });
  }
  return {
    key: last.key,
    channels: [bins, bins, bins],
    errorStops: Math.max(LEAST_ERROR_STOPS, found.errorStops),
    frames: own.map(({ mark }) => mark),
    ...(found.partlyGuessed && { partlyGuessed: true as const }),
  };
}

/** By their own clock, each frame once; where one has no clock, in the order that they came in. */
function inTime(tries: readonly ToneTried[]): ToneTried[] {
  const once = [...new Map(tries.map((own) => [own.mark, own])).values()];
  const timeOf = ({ record }: ToneTried): string | null => record.reading.settings.takenAt;
  if (once.some((own) => timeOf(own) === null)) return once;
  return once.sort((a, b) => (timeOf(a)! < timeOf(b)! ? -1 : timeOf(a)! > timeOf(b)! ? 1 : 0));
}

/** The sky's level, read through sRGB, changes by this part more or less than its light at most, whatever the curve; and skies change by a bit. */
const CURVE_AT_MOST = { part: 0.6, stops: 1 };

/** The settings say another change of the sky than any curve makes of it: the file's data are wrong, or clouds came. */
function isBeyondCurves(before: ToneTried['record'], now: ToneTried['record']): boolean {
  const camera = cameraChange(before, now);
  const [skyBefore, skyNow] = [before.reading.regions.sky.levelStops, now.reading.regions.sky.levelStops];
  if (camera === null || skyBefore === null || skyNow === null) return false;
  return Math.abs(skyNow - skyBefore - camera) > CURVE_AT_MOST.stops + CURVE_AT_MOST.part * Math.abs(camera);
}

/** Lamps told to change by factors nearer to each other than this count as one, stops. */
const ALIKE_STOPS = 0.4;

/**
 * What the paint's own light was told to change by after one try, stops, if the next has the camera settings that were advised with it; else
 * null, and where lamps were told to change unlike each other.
 */
function followedStops(before: Reading, now: Reading): number | null {
  const option = before.advice.options[0];
  if (option === undefined || !isAsAdvised(option, now)) return null;
  if (option.changes.every(({ light }) => light !== undefined)) return null;
  const [then, next] = [before.settings.shutterSeconds, now.settings.shutterSeconds];
  const longer = then === null || next === null ? 0 : Math.log2(next / then);
  // A lamp that burns through gains by a longer shutter too.
  const told = before.lights.map(({ name, kind }) =>
    option.changes.reduce(
      (sum, { light, factor }) => (light === name ? sum + Math.log2(factor) : sum),
      kind === 'stand' ? longer : 0,
    ),
  );
  const [low, high] = [Math.min(...told), Math.max(...told)];
  return told.length === 0 || high - low > ALIKE_STOPS ? null : (low + high) / 2;
}

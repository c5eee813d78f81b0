import type { FrameRecord, SincePrevious } from '../model/night.js';
import type { Light } from '../model/reading.js';
import { REGION } from '../model/regions.js';

/** What is compared of a frame. */
type Seen = Pick<FrameRecord, 'reading' | 'glance'>;

/** Cells lit by lamps in both frames, at least, before their light is compared. */
const LEAST_CELLS = 12;

/** What the camera, the sky and the hands did between two frames of one setup. Both records in time order. */
export function sincePrevious(before: Seen, now: Seen): SincePrevious {
  const cameraStops = cameraChange(before, now);
  const skyBefore = before.reading.regions.sky.levelStops;
  const skyNow = now.reading.regions.sky.levelStops;
  const alike = readAlike(before, now);
  const skyStops = !alike || skyBefore === null || skyNow === null ? null : round(skyNow - skyBefore);
  const paint = alike ? paintChange(before, now) : null;
  return {
    cameraStops,
    skyStops,
    paintRatio: paint === null ? null : Number((2 ** paint.stops).toFixed(3)),
    paintRatioUncertaintyStops: paint === null ? null : round(paint.uncertainty),
    says: inWords(before, now, cameraStops, skyStops, paint),
  };
}

/** Light read by another curve cannot be compared. */
function readAlike(before: Seen, now: Seen): boolean {
  return before.reading.encoding.response === now.reading.encoding.response;
}

/** ISO x shutter / N^2, in stops; null where a figure is missing. */
export function cameraChange(before: Pick<Seen, 'reading'>, now: Pick<Seen, 'reading'>): number | null {
  const shutter = ratioStops(before.reading.settings.shutterSeconds, now.reading.settings.shutterSeconds);
  const sensitivity = sensitivityChange(before, now);
  return shutter === null || sensitivity === null ? null : round(shutter + sensitivity);
}

/** ISO / N^2: all that the camera does to a held light. */
function sensitivityChange(before: Pick<Seen, 'reading'>, now: Pick<Seen, 'reading'>): number | null {
  const iso = ratioStops(before.reading.settings.iso, now.reading.settings.iso);
  const aperture = ratioStops(before.reading.settings.aperture, now.reading.settings.aperture);
  return iso === null || aperture === null ? null : iso - 2 * aperture;
}

function ratioStops(before: number | null, now: number | null): number | null {
  return before === null || now === null ? null : Math.log2(now / before);
}

/**
 * Median change of light over the cells painted in both frames and clipped in neither, ambient light (which follows the sky) taken off,
 * the camera's part taken out.
 */
function paintChange(before: Seen, now: Seen): { stops: number; uncertainty: number } | null {
  const sensitivity = sensitivityChange(before, now);
  const [one, other] = [before.glance, now.glance];
  if (sensitivity === null || one.width !== other.width || one.height !== other.height) return null;
  const ambientBefore = ambientOf(before);
  const ambientNow = ambientOf(now);
  const changes: number[] = [];
  for (let i = 0; i < one.light.length; i++) {
    if (one.regions[i] !== REGION.painted || other.regions[i] !== REGION.painted) continue;
    const lampBefore = 2 ** (one.light[i]! / 100) - ambientBefore;
    const lampNow = 2 ** (other.light[i]! / 100) - ambientNow;
    if (lampBefore > ambientBefore && lampNow > ambientNow) changes.push(Math.log2(lampNow / lampBefore));
  }
  if (changes.length < LEAST_CELLS) return null;
  changes.sort((a, b) => a - b);
  const at = (p: number): number => changes[Math.floor(p * (changes.length - 1))]!;
  const burning = cameraChange(before, now);
  const held = burning === null ? at(0.5) : heldChange(changes, burning);
  // The curve's part of the uncertainty: two levels of one file kind err alike, most of it cancels.
  const curve =
    0.3 * Math.max(before.reading.encoding.levelUncertaintyStops, now.reading.encoding.levelUncertaintyStops);
  const spread = (at(0.84) - at(0.16)) / 2 / Math.sqrt(Math.min(20, changes.length));
  return { stops: held - sensitivity, uncertainty: Math.hypot(0.03, curve, spread) };
}

/** Width over which changes are counted as alike, stops; a heap of them counts from this part of the largest one. */
const ALIKE_STOPS = 0.07;
const HEAP = 0.35;

/**
 * Land lit by a stand lamp changes as the camera's settings say, land lit by hand otherwise, and most lies between. The heap of changes
 * farthest from what burns through is the hand's. `changes` in stops, ascending.
 */
function heldChange(changes: readonly number[], burningStops: number): number {
  const first = changes[0]!;
  const steps = Math.min(400, Math.ceil((changes.at(-1)! - first) / (ALIKE_STOPS / 2)) + 1);
  const density = Array.from({ length: steps }, (_, n) => {
    const place = first + (n * ALIKE_STOPS) / 2;
    return changes.reduce((sum, change) => sum + Math.exp(-(((change - place) / ALIKE_STOPS) ** 2) / 2), 0);
  });
  const most = Math.max(...density);
  const heaps = density.flatMap((value, n) =>
    value >= HEAP * most && value >= (density[n - 1] ?? 0) && value >= (density[n + 1] ?? 0)
      ? [first + (n * ALIKE_STOPS) / 2]
      : [],
  );
  return heaps.reduce((best, heap) => (Math.abs(heap - burningStops) > Math.abs(best - burningStops) ? heap : best));
}

/** Unlit land's light; without any, land reflects about an eighth of the sky's (common practice, no source). */
function ambientOf({ reading }: Pick<Seen, 'reading'>): number {
  const { unlit, sky } = reading.regions;
  if (unlit.levelStops !== null && unlit.areaFraction > 0.01) return 2 ** unlit.levelStops;
  return sky.levelStops === null ? 0 : 2 ** (sky.levelStops - 3);
}

function inWords(
  before: Seen,
  now: Seen,
  cameraStops: number | null,
  skyStops: number | null,
  paint: { stops: number; uncertainty: number } | null,
): string {
  const parts: string[] = [];
  const { settings: a } = before.reading;
  const { settings: b } = now.reading;
  const changed: string[] = [];
  if (a.iso !== b.iso && a.iso !== null && b.iso !== null) changed.push(`ISO ${String(a.iso)} to ${String(b.iso)}`);
  if (a.shutterSeconds !== b.shutterSeconds && a.shutterSeconds !== null && b.shutterSeconds !== null)
    changed.push(`shutter ${trim(a.shutterSeconds)} s to ${trim(b.shutterSeconds)} s`);
  if (a.aperture !== b.aperture && a.aperture !== null && b.aperture !== null)
    changed.push(`f/${trim(a.aperture)} to f/${trim(b.aperture)}`);
  parts.push(changed.length > 0 ? changed.join(', ') : 'camera unchanged');
  if (!readAlike(before, now)) parts.push('its light was read by another curve and is not compared');
  if (skyStops !== null && cameraStops !== null && Math.abs(skyStops - cameraStops) > 0.25)
    parts.push(
      `the settings say ${signed(cameraStops)} ${Math.abs(cameraStops) > 1.05 ? 'stops' : 'stop'}, the sky says ${signed(skyStops)}: ${skyStops < cameraStops ? 'it is getting darker, or cloud goes' : 'twilight, Moon, cloud or a town adds light'}`,
    );
  if (paint !== null)
    parts.push(
      Math.abs(paint.stops) < Math.max(0.15, 2 * paint.uncertainty)
        ? 'paint as before'
        : `about ${(2 ** paint.stops).toFixed(paint.stops < 3 ? 2 : 0)} of the light painted before${countInWords(before, now, paint.stops)}`,
    );
  return `${parts.join('; ')}.`;
}

/** A count nearer to the plan than this is as planned. */
const OFF_PLAN_STOPS = 0.2;

/** What the only held light must have been counted, where its count before is known and nothing else of it was changed. */
function countInWords(before: Seen, now: Seen, paintStops: number): string {
  const heldIn = ({ reading }: Pick<Seen, 'reading'>): Light[] => reading.lights.filter(({ kind }) => kind === 'held');
  const [one, ...more] = heldIn(before);
  const [two, ...others] = heldIn(now);
  if (one?.seconds == null || two === undefined || more.length + others.length > 0 || one.name !== two.name) return '';
  if (one.power !== two.power || one.distanceM !== two.distanceM) return '';
  const noted = two.seconds === null || two.seconds === one.seconds ? '' : `, ${trim(two.seconds)} s noted`;
  const meant = one.seconds * 2 ** paintStops;
  const plan = before.reading.advice.options[0]?.changes.find(
    ({ what, light }) => what === 'paintTime' && light === one.name,
  )?.to;
  const planned =
    plan == null || Math.abs(Math.log2(meant / plan)) < OFF_PLAN_STOPS ? '' : `, although ${trim(plan)} s was advised`;
  return ` (${one.name} ${trim(one.seconds)} s to about ${trim(Number(meant.toPrecision(2)))} s${noted}${planned})`;
}

function signed(value: number): string {
  return `${value >= 0 ? '+' : ''}${value.toFixed(1)}`;
}

function trim(value: number): string {
  return String(Number(value.toPrecision(3)));
}

function round(value: number): number {
  return Number(value.toFixed(2));
}

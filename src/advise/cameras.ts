import type { Change } from '../model/reading.js';
import { DEFAULT_WISHES } from '../model/wishes.js';
import { APERTURE_MARKS, ISO_MARKS, shutterMarks } from './dials.js';
import type { Facts } from './facts.js';

/** One setting of the camera: what it multiplies every light by, what it multiplies lights that burn through by, and how. */
export interface CameraMove {
  readonly iso: number | null;
  readonly shutterSeconds: number | null;
  readonly aperture: number | null;
  readonly sensitivity: number;
  readonly shutterRatio: number;
  readonly changes: readonly Change[];
}

/** f-numbers are rounded as they are engraved. */
const SAME_MARK = 0.97;

/** Lenses are not advised beyond this opening: nights have no light to spare. */
const NARROWEST = 8;

/** Factors offered where a figure is not known: none first, then third stops up to three stops either way. */
const THIRDS = [0, ...Array.from({ length: 9 }, (_, n) => [n + 1, -n - 1]).flat()].map((thirds) => 2 ** (thirds / 3));

/** Every camera setting within the limits, the present one first. */
export function cameraMoves(facts: Facts): CameraMove[] {
  const { iso, shutterSeconds, aperture } = facts.settings;
  const { wishes } = facts;
  const widest = wishes.minAperture ?? facts.widestAperture ?? aperture ?? 1;
  const isoSteps =
    iso === null
      ? THIRDS.map((factor) => ({ to: null, factor }))
      : steps(
          iso,
          ISO_MARKS.filter((mark) => mark <= wishes.maxIso),
          (to) => to / iso,
        );
  const shutterSteps =
    shutterSeconds === null
      ? [{ to: null, factor: 1 }]
      : steps(
          shutterSeconds,
          shutterMarks(wishes.maxShutterSeconds).filter((mark) => mark >= 2),
          (to) => to / shutterSeconds,
        );
  const apertureSteps =
    aperture === null
      ? [{ to: null, factor: 1 }]
      : steps(
          aperture,
          APERTURE_MARKS.filter((mark) => mark >= widest * SAME_MARK && mark <= NARROWEST),
          (to) => (aperture / to) ** 2,
        );
  const moves: CameraMove[] = [];
  for (const i of isoSteps)
    for (const s of shutterSteps)
      for (const a of apertureSteps) {
        const changes: Change[] = [];
        if (i.factor !== 1) changes.push({ what: 'iso', from: iso, to: i.to, factor: i.factor });
        if (s.factor !== 1) changes.push({ what: 'shutter', from: shutterSeconds, to: s.to, factor: s.factor });
        if (a.factor !== 1) changes.push({ what: 'aperture', from: aperture, to: a.to, factor: a.factor });
        moves.push({
          iso: i.to,
          shutterSeconds: s.to,
          aperture: a.to,
          sensitivity: i.factor * a.factor,
          shutterRatio: s.factor,
          changes,
        });
      }
  return moves;
}

/** A present value beyond a limit is let stand where that limit is the default, not where the photographer set it. */
export function keepsLimits(
  { iso, shutterSeconds, aperture }: Pick<CameraMove, 'iso' | 'shutterSeconds' | 'aperture'>,
  { wishes }: Facts,
): boolean {
  const { maxIso, maxShutterSeconds, minAperture } = wishes;
  const sensitive = maxIso !== DEFAULT_WISHES.maxIso && iso !== null && iso > maxIso;
  const long =
    maxShutterSeconds !== DEFAULT_WISHES.maxShutterSeconds &&
    shutterSeconds !== null &&
    shutterSeconds > maxShutterSeconds;
  const wide = minAperture !== null && aperture !== null && aperture < minAperture * SAME_MARK;
  return !sensitive && !long && !wide;
}

/** The present value, then the marks; a mark within a tenth of a stop of it counts as it. */
function steps(
  from: number,
  marks: readonly number[],
  factorOf: (to: number) => number,
): { to: number; factor: number }[] {
  const others = marks
    .map((to) => ({ to, factor: factorOf(to) }))
    .filter(({ factor }) => Math.abs(Math.log2(factor)) > 0.1);
  return [{ to: from, factor: 1 }, ...others];
}

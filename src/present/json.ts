import type { Night, SincePrevious } from '../model/night.js';
import type { Lessons } from '../model/lesson.js';
import type { Plan } from '../model/plan.js';
import type { SkyReading } from '../model/sky.js';
import type { Option, Reading } from '../model/reading.js';

/** One reading as one line: boxes as [x, y, width, height]. A number that is not finite would be a fault of ours: it is never written. */
export function readingAsJson(reading: Reading): string {
  return written(published(reading));
}

/** A reading as `watch` prints it; docs/watch.md. */
export function arrivalAsJson(
  reading: Reading,
  arrivedAt: string,
  predicted: Option['predicted'] | null,
  sincePrevious: SincePrevious | null,
): string {
  return written({ ...published(reading), arrivedAt, predicted, sincePrevious });
}

/** A graded night as one line; docs/night.md. */
export function nightAsJson(night: Night): string {
  return written({ ...night, frames: night.frames.map(published) });
}

/** Where a frame looks, as one line; docs/sky.md. */
export function skyAsJson(sky: SkyReading): string {
  return written(sky);
}

/** A planned night as one line; docs/plan.md. */
export function planAsJson(plan: Plan): string {
  return written(plan);
}

/** The lessons of a frame, as one line; docs/why.md. */
export function lessonsAsJson({ findings, ...lessons }: Lessons): string {
  const told = findings.map(({ box, ...finding }) => ({
    ...finding,
    box: box === null ? null : [box.x, box.y, box.width, box.height],
  }));
  return written({ ...lessons, findings: told });
}

/** What other settings would have made of a frame; docs/why.md. */
export function whatIfAsJson(reading: Reading, option: Option): string {
  const { file, regions, balance, stars } = reading;
  const now = {
    skyStops: regions.sky.levelStops,
    paintedStops: regions.painted.levelStops,
    balanceStops: balance.stops,
    paintedClippedFraction: regions.painted.clipped.any,
    trailPx: stars.elongationPx,
  };
  const { changes, predicted, why } = option;
  return written({ schema: 'paintstop.what-if/1', file, changes, now, predicted, why });
}

function published(reading: Reading): object {
  const clips = reading.clips.map(({ box, ...clip }) => ({ ...clip, box: [box.x, box.y, box.width, box.height] }));
  return { ...reading, clips };
}

/** Control and direction characters of a file's name are written as escapes, so that they say nothing to a terminal. */
function written(value: object): string {
  return JSON.stringify(value, (_, own: unknown) =>
    typeof own === 'number' && !Number.isFinite(own) ? null : own,
  ).replace(/\p{C}/gu, (own) => Array.from({ length: own.length }, (_, n) => escaped(own.charCodeAt(n))).join(''));
}

/** RFC 8259, section 7. */
function escaped(unit: number): string {
  return `\\u${unit.toString(16).padStart(4, '0')}`;
}

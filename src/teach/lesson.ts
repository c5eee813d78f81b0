import type { Finding, LessonId, Remedy } from '../model/lesson.js';
import type { Change, Light, Option, Reading } from '../model/reading.js';
import type { Wishes } from '../model/wishes.js';

/** Median linear light of a region, red, green, blue; null when it is too small. */
export type Colour = readonly [number, number, number] | null;

/** What a lesson is drawn from. */
export interface Case {
  readonly reading: Reading;
  readonly lights: readonly Light[];
  readonly wishes: Wishes;
  readonly colours: { readonly sky: Colour; readonly painted: Colour };
  /** What changes would give. */
  readonly tryOut: (changes: readonly Change[]) => Option['predicted'];
}

/** What a frame adds to a lesson's own words. */
interface Found {
  readonly gravity: number;
  readonly overStops: number | null;
  readonly box?: Finding['box'];
  /** Rounded as they are to be read. */
  readonly numbers: Readonly<Record<string, number>>;
  readonly remedies: readonly Remedy[];
  /** Another wording than the lesson's own, where a lesson has several. */
  readonly sees?: string;
  readonly because?: string;
  readonly arithmetic?: string;
}

/**
 * One thing that goes wrong, as a good teacher tells it. Words hold `{name}` for the numbers of the frame; no other digits, so that every
 * number in the text is one of the JSON.
 */
export interface Lesson {
  readonly id: LessonId;
  readonly title: string;
  readonly region: Finding['region'];
  readonly sees: string;
  readonly because: string;
  /** In symbols. */
  readonly law: string;
  readonly arithmetic: string;
  /** In the field, without a computer. */
  readonly check: string;
  /** Of the law: where it is from, and where it ends. */
  readonly source: string;
  readonly limits: string;
  /** Null: the frame does not have this fault. */
  readonly find: (of: Case) => Found | null;
}

/** A lesson with the frame's numbers put in; null when it does not apply. */
export function taught(lesson: Lesson, of: Case): Finding | null {
  const found = lesson.find(of);
  if (found === null) return null;
  const put = (words: string): string =>
    words
      .replace(/\{(\w+)\}/g, (_, name: string) => String(found.numbers[name] ?? '?'))
      .replace(/(?<![\d.])1 stops\b/g, '1 stop');
  const sees = put(found.sees ?? lesson.sees);
  const because = put(found.because ?? lesson.because);
  const arithmetic = put(found.arithmetic ?? lesson.arithmetic);
  const check = put(lesson.check);
  return {
    id: lesson.id,
    region: lesson.region,
    box: found.box ?? null,
    overStops: found.overStops,
    gravity: Number(found.gravity.toFixed(1)),
    numbers: found.numbers,
    text: `${sees} ${because} ${arithmetic}. ${check}`,
    title: lesson.title,
    sees,
    because,
    law: lesson.law,
    arithmetic,
    check,
    remedies: found.remedies,
  };
}

/** To two decimals, or so many. */
export function round(value: number, digits = 2): number {
  return Number(value.toFixed(digits));
}

/** A part as percent, to two figures that count. */
export function percent(part: number): number {
  return Number((part * 100).toPrecision(2));
}

import type { Change, Option } from './reading.js';
import type { Box } from './regions.js';

export const LESSON_IDS = [
  'painted-clipped',
  'source-clipped',
  'sky-clipped',
  'sky-low',
  'sky-high',
  'paint-low',
  'paint-high',
  'paint-uneven',
  'stars-trailed',
  'stars-shaken',
  'stars-defocused',
  'stars-coma',
  'ground-crushed',
  'noise-high',
  'colour-clash',
  'preview-misleads',
] as const;
export type LessonId = (typeof LESSON_IDS)[number];

/** Something that would have helped, and what it would have given. */
export interface Remedy {
  readonly does: string;
  /** What it costs, or leaves. */
  readonly price: string;
  readonly changes: readonly Change[];
  /** Null where arithmetic cannot tell. */
  readonly gives: Option['predicted'] | null;
}

export interface Finding {
  readonly id: LessonId;
  readonly region: 'sky' | 'painted' | 'unlit' | 'source' | 'stars';
  readonly box: Box | null;
  /** How far over the limit (under it when negative), stops; null where that is no question of light. */
  readonly overStops: number | null;
  /** How grave, in points of the night's grading scale. */
  readonly gravity: number;
  /** Every number that the words use, by name; units in the names. */
  readonly numbers: Readonly<Record<string, number>>;
  /** What is seen, why, by how much, how to check it in the field: the whole lesson in words. */
  readonly text: string;
  readonly title: string;
  readonly sees: string;
  readonly because: string;
  /** The law in symbols. */
  readonly law: string;
  /** The law with this frame's numbers put in; `log2`, `sqrt`, `^`, `x`, `/` as in arithmetic. */
  readonly arithmetic: string;
  readonly check: string;
  readonly remedies: readonly Remedy[];
}

export interface Lessons {
  readonly schema: 'paintstop.why/1';
  readonly file: string;
  readonly findings: readonly Finding[];
  /** Why the lessons may be wrong, or are none; null when the frame was read without doubt. */
  readonly doubt: string | null;
  /** What was found of single lamps in other frames of the setup; null without them. */
  readonly lamps: string | null;
}

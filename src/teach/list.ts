import { LESSON_IDS } from '../model/lesson.js';
import type { Lesson } from './lesson.js';
import { paintedClipped, skyClipped, sourceClipped } from './lessons/clipping.js';
import { groundCrushed, noiseHigh, paintHigh, paintLow, paintUneven, skyHigh, skyLow } from './lessons/levels.js';
import { colourClash, previewMisleads } from './lessons/looks.js';
import { starsComa, starsDefocused, starsShaken, starsTrailed } from './lessons/stars.js';

const ALL: readonly Lesson[] = [
  paintedClipped,
  sourceClipped,
  skyClipped,
  skyLow,
  skyHigh,
  paintLow,
  paintHigh,
  paintUneven,
  starsTrailed,
  starsShaken,
  starsDefocused,
  starsComa,
  groundCrushed,
  noiseHigh,
  colourClash,
  previewMisleads,
];

/** Every lesson, in the order of the published ids. */
export const LESSONS: readonly Lesson[] = LESSON_IDS.map((id) => ALL.find((lesson) => lesson.id === id)!);

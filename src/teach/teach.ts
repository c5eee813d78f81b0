import type { Finding } from '../model/lesson.js';
import { taught, type Case } from './lesson.js';
import { LESSONS } from './list.js';

/** What a frame teaches, gravest first. */
export function teach(of: Case): Finding[] {
  // Where there is no night sky to measure, light on the ground is not a lamp's.
  const isNight =
    of.reading.advice.verdict !== 'unreadable' && !of.reading.warnings.some(({ code }) => code === 'not-night');
  return LESSONS.filter(({ region }) => isNight || region === 'sky')
    .map((lesson) => taught(lesson, of))
    .filter((finding) => finding !== null)
    .sort((a, b) => b.gravity - a.gravity);
}

import type { Finding } from '../model/lesson.js';
import { taught, type Case } from './lesson.js';
import { LESSONS } from './list.js';

/** What a frame teaches, gravest first. */
export function teach(of: Case): Finding[] {
  return LESSONS.map((lesson) => taught(lesson, of))
    .filter((finding) => finding !== null)
    .sort((a, b) => b.gravity - a.gravity);
}

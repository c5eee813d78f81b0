import type { FaultId, Night } from '../../model/night.js';

const ADVICE: Readonly<Record<FaultId, string>> = {
  'sky-low': 'the sky was too dark. Set ISO, opening and shutter for the sky first, then count the paint to match.',
  'sky-high': 'the sky was too bright. Wait for full dark, or take ISO down: paint and stand lamps go down with it.',
  'paint-low': 'painted ground was missing or too dark against the sky. Count longer, use more power, or go nearer.',
  'paint-high':
    'the painted ground was too bright against the sky. Count shorter or dim; after raising ISO, halve the count for each stop.',
  'paint-clipped': 'painted ground clipped. A lamp twice as far, up to four times as strong, lights it more evenly.',
  'stars-trailed': 'the stars were too long. Use a shorter shutter, or wait until the tripod is still.',
  'stars-soft': 'the stars were out of focus. Focus on a bright star with the screen magnified, then tape the ring.',
  'noise-high': 'the sky was grainy. A longer shutter or a wider opening gives more light; ISO does not.',
  unreadable: 'no sky could be measured, or the file is damaged.',
};

/** The commonest faults of the night, with what to do about them; a frame counts for a fault that cost it three points or more. */
export function commonFaults(night: Night, most = 3): { fault: FaultId; count: number; says: string }[] {
  const counts = new Map<FaultId, number>();
  for (const { grade } of night.frames)
    for (const { fault, points } of grade.reasons) if (points >= 3) counts.set(fault, (counts.get(fault) ?? 0) + 1);
  return [...counts]
    .sort((a, b) => b[1] - a[1] || (a[0] < b[0] ? -1 : 1))
    .slice(0, most)
    .map(([fault, count]) => ({ fault, count, says: ADVICE[fault] }));
}

import type { Night, NightFrame, Setup } from '../../model/night.js';
import { commonFaults } from './faults.js';

/** The night in words: each setup as the story of its tries, the picks, and what to do differently next time. */
export function nightAsText(night: Night, columns: number): string {
  const lines: string[] = [];
  const byName = new Map(night.frames.map((frame) => [frame.file, frame]));
  const counted = (n: number, what: string): string => `${String(n)} ${what}${n === 1 ? '' : 's'}`;
  lines.push(`${counted(night.frames.length, 'frame')} in ${counted(night.setups.length, 'setup')}.`);
  for (const setup of night.setups) lines.push('', ...storyOf(setup, byName, columns));
  const faults = commonFaults(night);
  if (faults.length > 0) {
    lines.push('', 'Next time');
    for (const { says, count } of faults) lines.push(...wrap(`${counted(count, 'frame')}: ${says}`, columns, '  '));
  }
  if (night.failed.length > 0) {
    lines.push('', 'Not read');
    for (const { message } of night.failed) lines.push(...wrap(message, columns, '  '));
  }
  return `${lines.join('\n')}\n`;
}

function storyOf(setup: Setup, byName: ReadonlyMap<string, NightFrame>, columns: number): string[] {
  const lines = [`Setup ${String(setup.id)}, best: ${setup.picks.join(', ')}`];
  for (const file of setup.frames) {
    const frame = byName.get(file)!;
    const stops = (value: number | null): string => (value === null ? '  - ' : value.toFixed(1).padStart(5));
    const star = setup.picks[0] === file ? '>' : ' ';
    lines.push(
      `${star} ${String(frame.grade.score).padStart(3)}  sky ${stops(frame.regions.sky.levelStops)}  paint over it ${stops(frame.balance.stops)}  ${file}`,
    );
    if (frame.sincePrevious !== null) lines.push(...wrap(frame.sincePrevious.says, columns, '        '));
    for (const { points, says } of frame.grade.reasons.slice(0, 3))
      if (points >= 3) lines.push(...wrap(`-${points.toFixed(0)} ${says}`, columns, '        '));
  }
  return lines;
}

function wrap(text: string, columns: number, indent: string): string[] {
  const lines: string[] = [];
  let line = indent;
  for (const word of text.split(' ')) {
    if (line.length + word.length + 1 > Math.max(30, columns) && line.trim() !== '') {
      lines.push(line);
      line = `${indent}  `;
    }
    line += line.trim() === '' ? word : ` ${word}`;
  }
  return [...lines, line];
}

import { printable } from '../../errors.js';
import type { Night, NightFrame, Setup } from '../../model/night.js';
import { WALK_CAUTION } from '../cautions.js';
import { wrap as fold } from '../style.js';
import { commonFaults } from './faults.js';
import { setupWarnings } from './setupWarnings.js';

/** The night in words: each setup as the story of its tries, the picks, and what to do differently next time. */
export function nightAsText(night: Night, columns: number): string {
  const lines: string[] = [];
  const byName = new Map(night.frames.map((frame) => [frame.file, frame]));
  const counted = (n: number, what: string): string => `${String(n)} ${what}${n === 1 ? '' : 's'}`;
  lines.push(`${counted(night.frames.length, 'frame')} in ${counted(night.setups.length, 'setup')}.`);
  const [first] = night.frames;
  const last = night.frames[night.frames.length - 1];
  for (const frame of first === last ? [first] : [first, last])
    if (frame?.sky)
      lines.push(...wrap(`${frame.settings.takenAt?.slice(11, 16) ?? ''} ${frame.sky.says}`, columns, ''));
  for (const setup of night.setups) lines.push('', ...storyOf(setup, byName, columns));
  const faults = commonFaults(night);
  if (faults.length > 0) {
    lines.push('', 'Next time');
    for (const { says, count } of faults) lines.push(...wrap(`${counted(count, 'frame')}: ${says}`, columns, '  '));
    lines.push('', ...wrap(WALK_CAUTION, columns, ''));
  }
  if (night.failed.length > 0) {
    lines.push('', 'Not read');
    for (const { message } of night.failed) lines.push(...wrap(message, columns, '  '));
  }
  // Names of files must not be able to write to the terminal.
  return `${lines.map(printable).join('\n')}\n`;
}

function storyOf(setup: Setup, byName: ReadonlyMap<string, NightFrame>, columns: number): string[] {
  const lines = [`Setup ${String(setup.id)}, best: ${setup.picks.join(', ')}`];
  if (setup.outlook !== null) lines.push(...wrap(setup.outlook.says, columns, '        '));
  for (const file of setup.frames) {
    const frame = byName.get(file)!;
    const stops = (value: number | null): string => (value === null ? '  - ' : value.toFixed(1).padStart(5));
    const star = setup.picks.includes(file) ? '>' : ' ';
    lines.push(
      `${star} ${String(frame.grade.score).padStart(3)}  sky ${stops(frame.regions.sky.levelStops)}  paint over it ${stops(frame.balance.stops)}  ${file}`,
    );
    for (const message of setupWarnings(frame)) lines.push(...wrap(message, columns, '        '));
    if (frame.sincePrevious !== null) lines.push(...wrap(frame.sincePrevious.says, columns, '        '));
    for (const { points, says } of frame.grade.reasons)
      lines.push(...wrap(`-${points.toFixed(1)} ${says}`, columns, '        '));
    if (frame.warnings.some(({ code }) => code === 'uncertain-regions'))
      lines.push(...wrap('in doubt: sky and ground are hard to tell apart', columns, '        '));
  }
  return lines;
}

/** Lines under a heading: the first at the indent, the rest two further in. */
function wrap(text: string, columns: number, indent: string): string[] {
  return fold(text, Math.max(30, columns) - indent.length - 2).map((line, n) => `${indent}${n > 0 ? '  ' : ''}${line}`);
}

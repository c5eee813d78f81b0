import { printable } from '../../errors.js';
import type { Option, Reading } from '../../model/reading.js';
import { cautionsFor } from '../cautions.js';
import { first, rest, wrap, type Look } from '../style.js';

/** The frame as it is and as it would have been, side by side. */
export function whatIfAsText(reading: Reading, option: Option, width: number, look: Look): string {
  const columns = Math.max(40, Math.min(width, 100));
  const { regions, balance, stars } = reading;
  const { predicted } = option;
  const rows: readonly (readonly [string, string, string, string])[] = [
    ['', 'as shot', 'so', 'wished'],
    ['sky', level(regions.sky.levelStops), level(predicted.skyStops), level(balance.skyShownTargetStops)],
    ['paint', level(regions.painted.levelStops), level(predicted.paintedStops), ''],
    ['balance', level(balance.stops), level(predicted.balanceStops), level(balance.targetStops)],
    ['clipped', part(regions.painted.clipped.any), part(predicted.paintedClippedFraction), 'under 0.5 %'],
    ['stars', px(stars.elongationPx), px(predicted.trailPx), `${px(stars.limit.trailPxAllowed)} at most`],
  ];
  const lines = [
    ...wrap(option.says, columns, '  ').map((line) => first(line, look)),
    '',
    ...rows.map(([name, now, then, wished]) =>
      rest(`${name.padEnd(10)}${now.padEnd(11)}${then.padEnd(11)}${wished}`.trimEnd(), look),
    ),
    '',
    ...wrap(`${printable(reading.file)}: ${option.why}`, columns, '  ').map((line) => rest(line, look)),
  ];
  for (const { code, message } of reading.warnings)
    if (code === 'uncertain-regions') lines.push(...wrap(message, columns, '  ').map((line) => rest(line, look)));
  for (const text of cautionsFor(option)) lines.push(...wrap(text, columns, '  ').map((line) => rest(line, look)));
  return `${lines.join('\n')}\n`;
}

function level(value: number | null): string {
  return value === null ? '?' : `${value >= 0 ? '+' : ''}${value.toFixed(1)}`;
}

function part(value: number | null): string {
  return value === null ? '?' : `${String(Number((value * 100).toPrecision(2)))} %`;
}

function px(value: number | null): string {
  return value === null ? '?' : `${value.toFixed(1)} px`;
}

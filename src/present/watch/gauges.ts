import type { Reading } from '../../model/reading.js';

/** What a gauge spans to either side of its target, stops. */
const SPAN_STOPS = 3;

export interface Strokes {
  readonly block: string;
  readonly rail: string;
  readonly target: string;
  readonly needle: string;
}

export const UNICODE_STROKES: Strokes = { block: '█', rail: '·', target: '│', needle: '◆' };
export const ASCII_STROKES: Strokes = { block: '#', rail: '.', target: '|', needle: 'O' };

/** A rail with its target in the middle and a needle where the value is, `miss` stops over it. */
function gauge(miss: number | null, width: number, { rail, target, needle }: Strokes): string {
  const middle = (width - 1) / 2;
  const cells = Array.from({ length: width }, (_, n) => (n === middle ? target : rail));
  if (miss === null) return cells.join('');
  const place = Math.round(middle + (Math.max(-SPAN_STOPS, Math.min(SPAN_STOPS, miss)) / SPAN_STOPS) * middle);
  cells[place] = needle;
  return cells.join('');
}

/** Paint of which more is clipped than this is over the limit; the same figure as the headroom rule has. */
const CLIPPED_ALLOWED = 0.005;

/** Sky, paint, balance, clipped paint and stars, one line each: value, gauge against its target, words. */
export function gaugeLines(reading: Reading, columns: number, strokes: Strokes): string[] {
  const { regions, balance, stars } = reading;
  const width = columns < 70 ? 13 : 21;
  const line = (name: string, value: string, miss: number | null, words: string): string =>
    `${name.padEnd(8)}${value.padStart(8)}  ${gauge(miss, width, strokes)}  ${words}`;
  const sky = regions.sky.levelStops;
  const paint = regions.painted.levelStops;
  const skyMiss = sky === null ? null : sky - balance.skyShownTargetStops;
  const paintMiss = paint === null ? null : paint - balance.skyShownTargetStops - balance.targetStops;
  const balanceMiss = balance.stops === null ? null : balance.stops - balance.targetStops;
  const clipped = regions.painted.clipped.any;
  const { elongationPx, limit } = stars;
  const allowed = limit.trailPxAllowed;
  const trail = elongationPx === null || allowed === null ? null : Math.log2(Math.max(0.1, elongationPx) / allowed);
  return [
    line('sky', signed(sky), skyMiss, inWords(skyMiss, balance.toleranceStops)),
    line('paint', signed(paint), paintMiss, paint === null ? 'none found' : 'judged by its balance'),
    line('balance', signed(balance.stops), balanceMiss, inWords(balanceMiss, balance.toleranceStops)),
    line(
      'clipped',
      paint === null ? '-' : `${trim(clipped * 100)} %`,
      paint === null ? null : Math.log2(Math.max(clipped, CLIPPED_ALLOWED / 16) / CLIPPED_ALLOWED),
      clipped > CLIPPED_ALLOWED ? 'of the paint: too much' : 'of the paint',
    ),
    line('stars', elongationPx === null ? '-' : `${trim(elongationPx)} px`, trail, starsInWords(stars)),
  ];
}

/** Whether they are drawn out, and then why; a fifth over the limit passes. */
function starsInWords({ cause, elongationPx, limit: { trailPxAllowed: allowed } }: Reading['stars']): string {
  if (cause === 'too-few' || elongationPx === null) return 'too few to say';
  if (cause === 'defocus') return 'out of focus';
  if (allowed === null) return cause;
  if (elongationPx <= allowed) return `within ${trim(allowed)} px`;
  if (elongationPx <= 1.2 * allowed) return `a little over ${trim(allowed)} px`;
  return `over ${trim(allowed)} px: ${cause === 'mixed' ? 'several causes' : cause}`;
}

function inWords(miss: number | null, tolerance: number): string {
  if (miss === null) return 'not known';
  if (Math.abs(miss) <= tolerance) return 'good';
  const size = Math.abs(miss).toFixed(1);
  return `${size} ${size === '1.0' || Math.abs(miss) < 1 ? 'stop' : 'stops'} too ${miss < 0 ? 'dark' : 'bright'}`;
}

function signed(value: number | null): string {
  return value === null ? '-' : `${value >= 0 ? '+' : ''}${value.toFixed(1)}`;
}

function trim(value: number): string {
  return String(Number(value.toPrecision(2)));
}

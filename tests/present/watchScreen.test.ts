import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { Option, Reading } from '../../src/model/reading.js';
import { bigWords } from '../../src/present/watch/bigWords.js';
import { ASCII_STROKES, UNICODE_STROKES } from '../../src/present/watch/gauges.js';
import { watchScreen, type WatchView } from '../../src/present/watch/watchScreen.js';
import { readOneFrame } from '../../src/pipeline/readOneFrame.js';
import { DEFAULT_WISHES } from '../../src/model/wishes.js';
import { encodeShot } from '../../src/scene/encode.js';
import { shoot, smallScene } from '../support/scenes.js';

const LIGHTS = [
  { name: 'torch', kind: 'held', seconds: 3, distanceM: 6, power: 1 },
  { name: 'back', kind: 'stand', seconds: null, distanceM: 12, power: 0.5 },
] as const;

const read = (async (): Promise<Reading> => {
  const bytes = await encodeShot(shoot(smallScene(4, { widthPx: 480, heightPx: 320 })), 'jpeg');
  return (await readOneFrame(bytes, 'moor-0412.jpg', {}, LIGHTS, DEFAULT_WISHES, {})).reading;
})();

function viewOf(reading: Reading, changes: Partial<WatchView> = {}): WatchView {
  return {
    folder: 'card',
    isThere: true,
    reading: null,
    waiting: 0,
    frame: { reading, lamps: LIGHTS, noted: [], sincePrevious: null, foretold: null },
    tries: [],
    nextLamps: LIGHTS,
    nextNoted: [],
    typed: '',
    says: null,
    help: false,
    outlook: null,
    ...changes,
  };
}

function withChanges(reading: Reading, count: number): Reading {
  const kinds: Option['changes'] = [
    { what: 'iso', from: 1600, to: 3200, factor: 2 },
    { what: 'paintTime', light: 'torch', from: 3, to: 4, factor: 1.333 },
    { what: 'lampPower', light: 'torch', from: 1, to: 0.2, factor: 0.2 },
    { what: 'lampPower', light: 'back', from: 0.5, to: 0.05, factor: 0.1 },
  ];
  const predicted = { skyStops: -4, paintedStops: -2.5, balanceStops: 1.5, paintedClippedFraction: 0, trailPx: 2 };
  const option: Option = {
    says: 'ISO 3200, and so on.',
    changes: kinds.slice(0, count),
    predicted,
    walks: 1,
    why: 'so',
  };
  return { ...reading, advice: { verdict: 'adjust', summary: option.says, options: [option], limit: null } };
}

describe('the screen of watch', () => {
  it('shows large what hands have to mend, before the settings, and no keep beside it', async () => {
    const reading = await read;
    const blurred = { ...reading, stars: { ...reading.stars, cause: 'defocus' as const } };
    const kept = { verdict: 'balanced' as const, summary: '', options: [], limit: null };
    expect(bigWords({ ...blurred, advice: kept })).toEqual([['focus']]);
    expect(bigWords({ ...blurred, advice: withChanges(reading, 2).advice }).map(([word]) => word)).toEqual([
      'focus',
      'iso 3200',
      'torch 4 sec',
    ]);
    expect(bigWords({ ...reading, stars: { ...reading.stars, cause: 'round' }, advice: kept })).toEqual([['keep']]);
  });

  it('fills any size exactly, whatever is said and typed', async () => {
    const reading = await read;
    fc.assert(
      fc.property(
        fc.integer({ min: 20, max: 200 }),
        fc.integer({ min: 6, max: 60 }),
        fc.string({ maxLength: 200 }),
        fc.boolean(),
        (columns, rows, text, help) => {
          const view = viewOf(reading, { says: text, typed: text.slice(0, 60), help });
          const lines = watchScreen(view, columns, rows, ASCII_STROKES);
          expect(lines).toHaveLength(rows);
          for (const line of lines) {
            expect(line.text).toHaveLength(columns);
            expect(line.text).not.toMatch(/\p{Cc}/u);
          }
        },
      ),
      { numRuns: 60 },
    );
  });

  it('never shows half a change large without saying so', async () => {
    const text = (rows: number, count: number): string =>
      watchScreen(viewOf(withChanges(reading, count)), 80, rows, UNICODE_STROKES)
        .map((line) => line.text)
        .join('\n');
    const reading = await read;
    const blocks = (shown: string): number => shown.split('\n').filter((line) => line.includes('██')).length;
    // Two changes fit an ordinary terminal; of four the others stand in one line under the large letters.
    expect(blocks(text(24, 2))).toBe(10);
    expect(blocks(text(24, 4))).toBe(10);
    expect(text(24, 4)).toMatch(/^AND [A-Z0-9 %]+, [A-Z0-9 %]+/m);
    expect(text(24, 2)).not.toContain('AND ');
    // A word too long for large letters on a narrow screen stands under them, it is not lost.
    const narrow = watchScreen(viewOf(withChanges(reading, 2)), 40, 40, ASCII_STROKES);
    expect(narrow.map((line) => line.text).join('\n')).toMatch(/^AND ISO 3200/m);
    for (const rows of [8, 12, 24, 40]) expect(text(rows, 4)).toContain('ISO 3200, and so on.');
  });

  it('says keep when balanced', async () => {
    const reading = await read;
    const balanced: Reading = {
      ...reading,
      advice: { verdict: 'balanced', summary: 'Balanced.', options: [], limit: null },
    };
    const lines = watchScreen(viewOf(balanced), 80, 24, ASCII_STROKES).map(({ text }) => text);
    expect(lines.join('\n')).toMatch(/##   ## #+ #+ ######/);
  });
});

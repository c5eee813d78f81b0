import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { readNote } from '../../src/lamps/notes.js';
import type { Light } from '../../src/model/reading.js';

const LAMPS: readonly Light[] = [
  { name: 'torch', kind: 'held', seconds: 3, distanceM: 6, power: 1 },
  { name: 'back', kind: 'stand', seconds: null, distanceM: 12, power: 0.5 },
  { name: 'back low', kind: 'stand', seconds: null, distanceM: 9, power: null },
];

const set = (lamp: string, figures: object, frame = 'next'): object => ({
  kind: 'set',
  frame,
  setting: { lamp, ...figures },
  added: null,
});

describe('a typed line', () => {
  it.each([
    ['torch 2', set('torch', { seconds: 2 })],
    ['  Torch   2.5s ', set('torch', { seconds: 2.5 })],
    ['torch 1,5', set('torch', { seconds: 1.5 })],
    ['t 2', set('torch', { seconds: 2 })],
    ['back half', set('back', { power: 0.5 })],
    ['back 1/8', set('back', { power: 0.125 })],
    ['back 17m', set('back', { distanceM: 17 })],
    ['back low 40%', set('back low', { power: 0.4 })],
    ['back off', set('back', { power: 0 })],
    ['back low on', set('back low', { power: 1 })],
    ['torch 2 8m 50%', set('torch', { seconds: 2, distanceM: 8, power: 0.5 })],
    ['was torch 2', set('torch', { seconds: 2 }, 'last')],
    ['undo', { kind: 'undo' }],
    ['q', { kind: 'quit' }],
    ['?', { kind: 'help' }],
    ['done', { kind: 'done', frame: 'next', option: 1 }],
    ['done 2', { kind: 'done', frame: 'next', option: 2 }],
    ['was done', { kind: 'done', frame: 'last', option: 1 }],
  ])('%s', (line, note) => {
    expect(readNote(line, LAMPS)).toEqual(note);
  });

  it('a new lamp', () => {
    expect(readNote('rim stand 9m half', LAMPS)).toEqual({
      kind: 'set',
      frame: 'next',
      setting: { lamp: 'rim', distanceM: 9, power: 0.5 },
      added: { name: 'rim', kind: 'stand', seconds: null, distanceM: null, power: null },
    });
  });

  it.each([
    ['torch', /say what changed/],
    ['rim 2', /no lamp rim \(there is torch, back, back low\)/],
    ['ba half', /more than one lamp begins with ba/],
    ['back 2', /burns through/],
    ['torch 0', /torch off/],
    ['torch 2 back 9m', /one lamp a line/],
    ['done held 3', /no lamp done/],
    ['rim stand', /say where it stands/],
    ['torch 300%', /out of bounds/],
    ['torch twice', /not understood/],
    ['torch constructor', /not understood/],
    ['torch __proto__', /not understood/],
    ['done x', /done 2/],
    ['was', /was torch 2/],
  ])('%s is answered with what to type', (line, says) => {
    const note = readNote(line, LAMPS);
    expect(note.kind).toBe('unclear');
    expect(note.kind === 'unclear' && note.says).toMatch(says);
  });

  it('whatever is typed, it answers, and no figure is out of bounds', () => {
    const word = fc.oneof(
      fc.constantFrom(
        'torch',
        'back',
        'low',
        'was',
        'done',
        'half',
        'off',
        'on',
        '2',
        '17m',
        '40%',
        '1/0',
        'held',
        'stand',
      ),
      fc.string(),
    );
    fc.assert(
      fc.property(fc.array(word, { maxLength: 6 }), (words) => {
        const note = readNote(words.join(' '), LAMPS);
        if (note.kind !== 'set') return;
        for (const value of [note.setting.seconds, note.setting.distanceM, note.setting.power])
          if (value !== undefined) expect(Number.isFinite(value) && value >= 0).toBe(true);
      }),
    );
  });
});

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { playEvening, type Happening } from '../../src/lamps/evening.js';
import type { Light } from '../../src/model/reading.js';

const START: readonly Light[] = [
  { name: 'torch', kind: 'held', seconds: 3, distanceM: 6, power: 1 },
  { name: 'back', kind: 'stand', seconds: null, distanceM: 12, power: 0.5 },
];
const note = (frame: string | null, lamp: string, figures: object): Happening => ({
  kind: 'note',
  frame,
  settings: [{ lamp, ...figures }],
  added: null,
});
const answer = (file: string): Happening => ({ kind: 'answer', file });

describe('the lamps of each frame', () => {
  it('stay as they were last known, and are assumed', () => {
    const { frames, next } = playEvening(START, [note(null, 'torch', { seconds: 2 }), answer('a'), answer('b')]);
    expect(frames.get('a')).toMatchObject({ lamps: [{ seconds: 2 }, { power: 0.5 }], noted: ['torch'] });
    expect(frames.get('b')).toMatchObject({ lamps: [{ seconds: 2 }, { power: 0.5 }], noted: [] });
    expect(next.lamps[0]!.seconds).toBe(2);
  });
  it('a note on a frame that was answered holds from there on, unless a newer note says otherwise', () => {
    const { frames, next } = playEvening(START, [
      answer('a'),
      note(null, 'torch', { seconds: 1.5 }),
      note('a', 'torch', { seconds: 2 }),
      note('a', 'back', { power: 0.25 }),
      answer('b'),
    ]);
    expect(frames.get('a')!.lamps).toMatchObject([{ seconds: 2 }, { power: 0.25 }]);
    expect(frames.get('b')!.lamps).toMatchObject([{ seconds: 1.5 }, { power: 0.25 }]);
    expect(next.noted).toEqual([]);
  });
  it('undo takes back the last note that stands, also one of an earlier frame', () => {
    const { frames, next, undoable } = playEvening(START, [
      note(null, 'torch', { seconds: 2 }),
      answer('a'),
      note('a', 'back', { power: 0.1 }),
      { kind: 'undo' },
      { kind: 'undo' },
      { kind: 'undo' },
    ]);
    expect(frames.get('a')).toEqual({ lamps: START, noted: [] });
    expect(next.lamps).toEqual(START);
    expect(undoable).toBe(false);
  });
  it('a note and its undo leave nothing behind, whatever happened before', () => {
    const happening = fc.oneof(
      fc.constantFrom(answer('a'), answer('b'), { kind: 'undo' } as Happening),
      fc
        .record({
          frame: fc.constantFrom(null, 'a', 'b'),
          lamp: fc.constantFrom('torch', 'back'),
          power: fc.double({ min: 0, max: 1, noNaN: true }),
        })
        .map(({ frame, lamp, power }) => note(frame, lamp, { power })),
    );
    fc.assert(
      fc.property(fc.array(happening, { maxLength: 12 }), (before) => {
        const after = playEvening(START, [...before, note(null, 'torch', { seconds: 9 }), { kind: 'undo' }]);
        expect(after).toEqual(playEvening(START, before));
      }),
    );
  });
});

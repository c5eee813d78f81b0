import { describe, expect, it } from 'vitest';
import type { Light, Option, Reading } from '../../src/model/reading.js';
import { contradiction, doubtsOfNotes } from '../../src/pipeline/notesInDoubt.js';
import { BACK, factsWith, TORCH } from '../support/facts.js';

const { settings } = factsWith({});
const regions = { painted: { levelStops: -2.5 } } as Reading['regions'];

describe('a count noted for a lamp', () => {
  const doubts = (lights: readonly Light[], own = settings): string[] =>
    doubtsOfNotes(lights, { settings: own, regions }).map(({ code }) => code);

  it('that no shutter leaves room for is doubted, by name', () => {
    const [warning, ...others] = doubtsOfNotes([{ ...TORCH, seconds: 40 }, BACK], { settings, regions });
    expect(others).toEqual([]);
    expect(warning!.code).toBe('count-over-shutter');
    expect(warning!.message).toContain('torch');
  });

  it('is believed up to the shutter, and where the shutter is not known or the lamp was off', () => {
    expect(doubts([{ ...TORCH, seconds: 20 }, BACK])).toEqual([]);
    expect(doubts([{ ...TORCH, seconds: 40, power: 0 }, BACK])).toEqual([]);
    expect(doubts([{ ...TORCH, seconds: 40 }], { ...settings, shutterSeconds: null })).toEqual([]);
  });
});

describe('lamps that were all off', () => {
  it('painted nothing', () => {
    const off = [TORCH, BACK].map((lamp) => ({ ...lamp, power: 0 }));
    expect(doubtsOfNotes(off, { settings, regions }).map(({ code }) => code)).toEqual(['lamps-off']);
    const dark = { painted: { levelStops: null } } as Reading['regions'];
    expect(doubtsOfNotes(off, { settings, regions: dark })).toEqual([]);
    expect(doubtsOfNotes([TORCH, { ...BACK, power: 0 }], { settings, regions })).toEqual([]);
  });
});

describe('notes of two tries', () => {
  const reading = (lights: readonly Light[], changes: Option['changes'] = []): Reading =>
    ({ settings, regions, lights, advice: { options: [{ changes }] } }) as unknown as Reading;
  const doubt = (before: Reading, now: Reading, paintRatio: number | null): string | undefined =>
    contradiction(before, now, { paintRatio, paintRatioUncertaintyStops: 0.1 })?.message;
  const half = { ...TORCH, seconds: 1.5 };

  it('are believed as far as a hand miscounts, and doubted beyond', () => {
    expect(doubt(reading([TORCH]), reading([half]), 0.5)).toBeUndefined();
    expect(doubt(reading([TORCH]), reading([half]), 0.8)).toBeUndefined();
    expect(doubt(reading([TORCH]), reading([half]), 1.2)).toContain(
      'x 1.2 since the try before, but x 0.5 by the notes',
    );
    expect(doubt(reading([TORCH]), reading([TORCH]), 0.2)).toContain('but unchanged by the notes');
  });

  it('of several lamps are doubted only beyond what any of them did', () => {
    const before = reading([TORCH, BACK]);
    const now = reading([half, BACK]);
    expect(doubt(before, now, 0.5)).toBeUndefined();
    expect(doubt(before, now, 1)).toBeUndefined();
    expect(doubt(before, now, 0.2)).toContain('from x 0.5 to unchanged');
  });

  // Inverse square: 1.41 times the distance is half the light.
  it('count distance and power', () => {
    const far = { ...TORCH, distanceM: TORCH.distanceM! * Math.SQRT2 };
    expect(doubt(reading([TORCH]), reading([far]), 0.5)).toBeUndefined();
    expect(doubt(reading([TORCH]), reading([{ ...TORCH, power: 0.25 }]), 1)).toContain('x 0.25 by the notes');
  });

  it('say nothing of a count that was not noted', () => {
    const open = { ...TORCH, seconds: null };
    expect(doubt(reading([open]), reading([open]), 0.1)).toBeUndefined();
    expect(doubt(reading([TORCH]), reading([open]), 0.1)).toBeUndefined();
    const assumed = factsWith({}).lights.map((light) => ({ ...light, seconds: null, distanceM: null, power: null }));
    expect(doubt(reading(assumed), reading(assumed), 0.1)).toBeUndefined();
  });

  it('are doubted where light cannot tell, if a lamp was to change, the camera did, and one note was given for both', () => {
    const change = { what: 'lampPower', light: 'torch', from: 1, to: 0.2, factor: 0.2 } as Option['changes'][number];
    const iso = { what: 'iso', from: 800, to: 1600, factor: 2 } as Option['changes'][number];
    expect(doubt(reading([TORCH], [change, iso]), reading([TORCH]), null)).toContain('noted as in the try before');
    expect(doubt(reading([TORCH], [change, iso]), reading([{ ...TORCH, power: 0.2 }]), null)).toBeUndefined();
    expect(doubt(reading([TORCH], [change, iso]), reading([TORCH]), 1)).toBeUndefined();
  });

  it('are not doubted where nothing was noted that could have been noted anew', () => {
    const assumed: Light = { name: 'paint', kind: 'held', seconds: null, distanceM: null, power: null };
    const uncounted = { ...TORCH, seconds: null };
    const longer = (name: string): Option['changes'] => [
      { what: 'paintTime', light: name, from: null, to: null, factor: 0.2 },
      { what: 'iso', from: 800, to: 1600, factor: 2 },
    ];
    expect(doubt(reading([assumed], longer('paint')), reading([assumed]), null)).toBeUndefined();
    expect(doubt(reading([uncounted], longer('torch')), reading([uncounted]), null)).toBeUndefined();
  });
});

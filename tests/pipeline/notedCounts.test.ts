import { describe, expect, it } from 'vitest';
import { impossibleCounts } from '../../src/pipeline/notedCounts.js';
import { BACK, factsWith, TORCH } from '../support/facts.js';

describe('a count noted for a lamp', () => {
  const { settings } = factsWith({});
  it('that no shutter leaves room for is doubted, by name', () => {
    const [warning, ...others] = impossibleCounts([{ ...TORCH, seconds: 40 }, BACK], settings);
    expect(others).toEqual([]);
    expect(warning!.code).toBe('count-over-shutter');
    expect(warning!.message).toContain('torch');
  });

  it('is believed up to the shutter, and where the shutter is not known or the lamp was off', () => {
    expect(impossibleCounts([{ ...TORCH, seconds: 20 }, BACK], settings)).toEqual([]);
    expect(impossibleCounts([{ ...TORCH, seconds: 40, power: 0 }], settings)).toEqual([]);
    expect(impossibleCounts([{ ...TORCH, seconds: 40 }], { ...settings, shutterSeconds: null })).toEqual([]);
  });
});

import { describe, expect, it } from 'vitest';
import { advise } from '../../src/advise/advise.js';
import type { Facts } from '../../src/advise/facts.js';
import type { Try } from '../../src/advise/history.js';
import type { Light } from '../../src/model/reading.js';
import { BACK, factsWith, TORCH } from '../support/facts.js';

/** Sky a stop low, paint two stops over its balance. */
const facts = (changes: Partial<Facts>): Facts =>
  factsWith({ lights: [TORCH, BACK], skyStops: -5, paintedStops: -1.5, ...changes });

const tryOf = (own: Facts, advised: Try['advised'], balanced = false): Try => ({
  iso: own.settings.iso,
  shutterSeconds: own.settings.shutterSeconds,
  aperture: own.settings.aperture,
  lights: own.lights,
  balanced,
  advised,
});

/** Settings and lamps after an option. */
function after(own: Facts, option: NonNullable<Try['advised']>): { settings: Facts['settings']; lights: Light[] } {
  const of = (what: string, light?: string): number | undefined =>
    option.changes.find((change) => change.what === what && change.light === light)?.to ?? undefined;
  return {
    settings: {
      ...own.settings,
      iso: of('iso') ?? own.settings.iso,
      shutterSeconds: of('shutter') ?? own.settings.shutterSeconds,
      aperture: of('aperture') ?? own.settings.aperture,
    },
    lights: own.lights.map((light) => ({
      ...light,
      seconds: of('paintTime', light.name) ?? light.seconds,
      power: of('lampPower', light.name) ?? light.power,
      distanceM: of('lampDistance', light.name) ?? light.distanceM,
    })),
  };
}

describe('advice that knows the tries before', () => {
  it('never leads back to settings that were tried and failed', () => {
    const now = facts({});
    const first = advise(now).options[0]!;
    const tried = after(now, first);
    // The try that the advice leads to was made already, and was not balanced.
    const failed = tryOf({ ...now, ...tried }, null);
    for (const option of advise(now, [failed]).options) expect(after(now, option)).not.toEqual(tried);
    // A balanced one may be gone back to.
    expect(advise(now, [{ ...failed, balanced: true }]).options[0]!.says).toBe(first.says);
  });

  it('goes on with a change that was begun, though the numbers tremble', () => {
    const now = facts({});
    const options = advise(now).options;
    expect(options.length).toBeGreaterThan(1);
    for (const shift of [-0.08, 0.08]) {
      const again = facts({ skyStops: now.skyStops! + shift, paintedStops: now.paintedStops! - shift });
      for (const option of options.slice(0, 2)) {
        const said = advise(again, [tryOf(now, option)]).options[0]!;
        if (option === options[0]) expect(said.says).toBe(option.says);
      }
    }
  });

  it('when half of it was done, asks for the other half', () => {
    const now = facts({});
    const option = advise(now).options.find(
      ({ changes }) => changes.some(({ what }) => what === 'iso') && changes.length > 1,
    )!;
    const iso = option.changes.find(({ what }) => what === 'iso')!;
    const gained = Math.log2(iso.factor);
    const half = facts({
      settings: { ...now.settings, iso: iso.to },
      skyStops: now.skyStops! + gained,
      paintedStops: now.paintedStops! + gained,
    });
    const said = advise(half, [tryOf(now, option)]).options[0]!;
    for (const change of option.changes.filter(({ what }) => what !== 'iso'))
      expect(said.changes).toContainEqual(
        expect.objectContaining({ what: change.what, light: change.light, to: change.to }),
      );
  });

  it('keeps when balanced, whatever was tried', () => {
    const good = facts({ skyStops: -4, paintedStops: -2.5, headroom: null });
    expect(advise(good, [tryOf(good, null)]).verdict).toBe('balanced');
  });
});

describe('the limit', () => {
  it.each([
    ['sky', { skyStops: -1.5, paintedStops: 0, settings: { iso: 100, shutterSeconds: 2, aperture: 8 } }],
    ['lens', { skyStops: -8, paintedStops: -6.5, settings: { iso: 6400, shutterSeconds: 30, aperture: 2.8 } }],
  ] as const)('is said to be the %s', (limit, { settings, ...rest }) => {
    const base = facts({});
    const advice = advise(
      facts({ ...rest, settings: { ...base.settings, ...settings }, headroom: null, trailPx: null }),
    );
    expect(advice.limit).toBe(limit);
  });
  it('is none where the best option reaches the targets', () => {
    expect(advise(facts({})).limit).toBeNull();
  });
});

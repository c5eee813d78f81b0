import { describe, expect, it } from 'vitest';
import { advise } from '../../src/advise/advise.js';
import { ASSUMED_LIGHT } from '../../src/advise/facts.js';
import { ISO_MARKS, POWER_STEPS } from '../../src/advise/dials.js';
import { likelyLift } from '../../src/calibration/cameraLift.js';
import { CURVE_KNOTS } from '../../src/calibration/data/displayCurves.js';
import { spreadAfter } from '../../src/advise/lamps.js';
import type { Light, Option } from '../../src/model/reading.js';
import { DEFAULT_WISHES } from '../../src/model/wishes.js';
import { BACK, factsWith as facts, TORCH } from '../support/facts.js';

function change(option: Option | undefined, what: string, light?: string) {
  return option?.changes.find((own) => own.what === what && own.light === light);
}

describe('advice', () => {
  it('says keep when everything is inside its tolerance', () => {
    expect(advise(facts({})).verdict).toBe('balanced');
    expect(advise(facts({ skyStops: -4.3, paintedStops: -2.9 })).verdict).toBe('balanced');
  });

  it('calls nothing balanced where there is no paint to balance', () => {
    const { verdict, summary } = advise(facts({ paintedStops: null, headroom: null, landLevels: null }));
    expect([verdict, summary]).toEqual([
      'balanced',
      'The sky is on its target; no painted ground was found to balance it with.',
    ]);
  });

  it('stars a little over the limit are let pass, and said', () => {
    const within = advise(facts({ trailPx: 2.5, trailPxAllowed: 2.5 }));
    const over = advise(facts({ trailPx: 2.9, trailPxAllowed: 2.5 }));
    const far = advise(facts({ trailPx: 3.5, trailPxAllowed: 2.5 }));
    expect([within.verdict, over.verdict, far.verdict]).toEqual(['balanced', 'balanced', 'adjust']);
    expect(within.summary).not.toContain('trailing');
    expect(over.summary).toContain('a little over the trailing limit');
  });

  it('nothing is called a limit that the dials can mend: long stars of a balanced frame get a shorter shutter, unless ISO is at its end', () => {
    const { settings } = facts({});
    const long = { trailPx: 3.6, trailPxAllowed: 2.5, lights: [TORCH, BACK] };
    const { summary, options } = advise(facts(long));
    expect(summary).toMatch(/^ISO .*shutter/);
    const { skyStops, balanceStops, trailPx } = options[0]!.predicted;
    expect(trailPx).toBeLessThanOrEqual(2.5 * 1.2);
    expect(Math.abs(skyStops! - DEFAULT_WISHES.skyTargetStops)).toBeLessThan(DEFAULT_WISHES.toleranceStops);
    expect(Math.abs(balanceStops! - DEFAULT_WISHES.balanceTargetStops)).toBeLessThan(DEFAULT_WISHES.toleranceStops);
    const atTheEnd = advise(facts({ ...long, settings: { ...settings, iso: DEFAULT_WISHES.maxIso } }));
    expect(atTheEnd.summary).toMatch(/^As near as the limits allow: stars/);
  });

  it('what only hands can mend comes before any setting, and nothing is called fit to be kept till then', () => {
    const blurred = advise(facts({ handFault: 'defocus' }));
    expect(blurred.verdict).toBe('balanced');
    expect(blurred.summary).toMatch(/^The stars are out of focus: focus anew.*change no setting\.$/);
    const shaken = advise(facts({ skyStops: -5, handFault: 'shake' }));
    expect(shaken.summary).toMatch(/^The camera shook: steady the tripod, let go of it\. ISO/);
    expect(advise(facts({ skyStops: null, handFault: 'defocus' })).summary).toMatch(/^No sky/);
  });

  it('trails that the best settings take into the bargain are said with them', () => {
    // A sky that low is worth longer stars.
    const { settings } = facts({});
    const long = { skyStops: -5, trailPx: 5, trailPxAllowed: 3, settings: { ...settings, iso: 3200 } };
    const { summary, options } = advise(facts(long));
    const foretold = options[0]!.predicted.trailPx!;
    expect(summary.includes('Stars will trail')).toBe(foretold > 1.2 * 3);
    expect(foretold).toBeGreaterThan(3.6);
  });

  it('a file of unknown tone curve is aimed a little high, and says so; a known one is not', () => {
    const off = { skyStops: -3, paintedStops: 0.1, headroom: null };
    const plain = advise(facts({ ...off, levelUncertaintyStops: 0.3 })).options[0]!;
    const guessed = advise(facts({ ...off, levelUncertaintyStops: 0.5 })).options[0]!;
    expect(guessed.predicted.skyStops! - plain.predicted.skyStops!).toBeGreaterThanOrEqual(0);
    expect(guessed.why).toContain('tone curve is not known');
    expect(plain.why).not.toContain('tone curve');
    // ISO 12232: 18 % grey lies at 12.7 % of saturation; sRGB (IEC 61966-2-1) has code 118 for 18 %, 2.5 stops under white.
    const halfStop = Math.log2(18 / 12.7);
    expect(likelyLift(0.5, null).at(Math.log2(0.18)) / halfStop).toBeGreaterThan(0.8);
    expect(likelyLift(0.5, null).at(Math.log2(0.18)) / halfStop).toBeLessThan(1.1);
    expect(likelyLift(0.3, null).at(Math.log2(0.18))).toBe(0);
    // It grows up to middle grey, and white is white.
    for (let stops = -12; stops < -2; stops += 0.25)
      expect(likelyLift(0.5, null).at(stops + 0.25)).toBeGreaterThanOrEqual(likelyLift(0.5, null).at(stops));
    expect(likelyLift(0.5, null).at(0)).toBeCloseTo(0, 2);
  });

  it('a file of unknown tone curve that shows the sky a little under its target is not called balanced: it is darker still', () => {
    const low = { skyStops: -4.2, paintedStops: -2.7, trailPx: null };
    expect(advise(facts({ ...low, levelUncertaintyStops: 0.03 })).verdict).toBe('balanced');
    const unknown = { ...low, levelUncertaintyStops: 0.5 };
    const { verdict, options } = advise(facts(unknown));
    expect(verdict).toBe('adjust');
    // A plain developed file stays inside the tolerance all the same.
    expect(options[0]!.predicted.skyStops).toBeGreaterThan(-4);
    expect(options[0]!.predicted.skyStops).toBeLessThanOrEqual(-4 + 0.35);
    expect(advise(facts({ ...unknown, skyStops: -3.8, paintedStops: -2.3 })).verdict).toBe('balanced');
    const atTheEnd = { ...unknown, wishes: { ...DEFAULT_WISHES, maxIso: 1600, maxShutterSeconds: 20 } };
    expect(advise(facts(atTheEnd)).summary).toMatch(
      /^As near as the limits allow: the sky is probably darker than it shows/,
    );
  });

  it('a sky at the edge of its tolerance, read through a guessed curve, is as likely outside and is not called balanced', () => {
    const edge = { skyStops: -4.32, paintedStops: -2.82, levelUncertaintyStops: 0.26 };
    expect(advise(facts({ ...edge, curveGuessed: false })).verdict).toBe('balanced');
    const { verdict, options } = advise(facts({ ...edge, curveGuessed: true }));
    expect(verdict).toBe('adjust');
    expect(Math.abs(options[0]!.predicted.skyStops! + 4)).toBeLessThan(0.25);
    expect(options[0]!.why).toContain('The sky is 0.32 stop too dark');
  });

  describe('a file whose stars tell how much it is lifted', () => {
    /** The light lies so far over what sRGB reads four stops under white. */
    const told = (overStops: number) => ({
      levelUncertaintyStops: 0.5,
      curveHint: { parts: CURVE_KNOTS.map((knot) => (knot === -4 ? 1 : 0)), value: overStops, spread: 0.1 },
    });

    it('is aimed by all of a lift that no plain file has', () => {
      const dark = advise(facts({ skyStops: -4, paintedStops: -2.5, ...told(-0.8) }));
      expect(dark.verdict).toBe('adjust');
      const best = dark.options[0]!;
      expect(Math.abs(best.predicted.skyStops! + 4 - 0.75)).toBeLessThan(0.2);
      expect(best.why).toContain('the shapes of its stars');
      expect(best.why).toContain('probably darker than it shows');
      expect(best.why).not.toContain('bright by itself');
      const lifted = advise(facts({ skyStops: -3.3, paintedStops: -1.8, ...told(-0.8) }));
      expect(lifted.verdict).toBe('balanced');
      expect(advise(facts({ skyStops: -2.7, paintedStops: -1.2, ...told(-0.8) })).verdict).toBe('adjust');
    });

    it('is taken at its word where they tell none', () => {
      const { verdict } = advise(facts({ skyStops: -4.2, paintedStops: -2.7, ...told(0) }));
      expect(verdict).toBe('balanced');
    });

    it('stays within the tolerance of a plain file where they tell a small one', () => {
      for (const over of [0.2, 0, -0.2, -0.4]) {
        const { options } = advise(facts({ skyStops: -5.5, paintedStops: -4, ...told(over) }));
        expect(options[0]!.predicted.skyStops).toBeLessThanOrEqual(-4 + 0.35);
      }
    });
  });

  it('where no paint was found nothing is said of paint', () => {
    const { why } = advise(facts({ skyStops: -5, paintedStops: null, headroom: null, lights: [ASSUMED_LIGHT] }))
      .options[0]!;
    expect(why).not.toMatch(/paint|lamp/);
  });

  it('a sky one stop low and paint in balance with it: both come up together', () => {
    const best = advise(facts({ skyStops: -5, paintedStops: -3.5 })).options[0]!;
    expect(best.predicted.skyStops).toBeCloseTo(-4, 0);
    expect(best.predicted.balanceStops).toBeCloseTo(1.5, 0);
  });

  // Common practice, no source: ISO up one stop doubles the paint, so a 3 s count is halved (here by count or by power).
  it('a sky one stop low and paint where it belongs: the torch is halved while ISO doubles', () => {
    const best = advise(facts({ skyStops: -5, paintedStops: -2.5 })).options[0]!;
    expect(change(best, 'iso')?.to).toBe(3200);
    const torch = best.changes.filter((own) => own.light === 'torch').reduce((product, own) => product * own.factor, 1);
    expect(Math.abs(Math.log2(torch) + 1)).toBeLessThan(0.3);
  });

  it('a limit that the photographer set holds for the settings of the frame too; a default one lets them stand', () => {
    const shutters = (wishes: Partial<typeof DEFAULT_WISHES>, shutterSeconds: number): (number | null)[] =>
      advise(
        facts({
          skyStops: -5,
          settings: { ...facts({}).settings, shutterSeconds },
          wishes: { ...DEFAULT_WISHES, ...wishes },
        }),
      ).options.map((option) => change(option, 'shutter')?.to ?? null);
    expect(shutters({ maxShutterSeconds: 15 }, 20).every((to) => to !== null && to <= 15)).toBe(true);
    expect(shutters({}, 20)).toContain(null);
  });

  it('an opening beyond the limit that the photographer set is closed', () => {
    const wishes = { ...DEFAULT_WISHES, minAperture: 4 };
    const { options } = advise(facts({ skyStops: -3, paintedStops: -1.5, wishes }));
    expect(options.length).toBeGreaterThan(0);
    for (const option of options) expect(change(option, 'aperture')!.to).toBeGreaterThanOrEqual(4);
  });

  it('burns no great part of uneven paint for the sake of its middle', () => {
    // The brightest third reaches clipping two stops before the middle of the paint is where the balance wants it.
    const uneven = facts({
      paintedStops: -4.5,
      headroom: {
        fractionAbove: [0, ...Array.from({ length: 40 }, (_, n) => Math.min(1, n / 24))],
        fractionOver: Array.from({ length: 21 }, () => 0),
        clippedMedianOverStops: 0,
        hiddenStops: 0,
        medianStops: -4.5,
      },
    });
    const best = advise(uneven).options[0];
    expect(best?.predicted.paintedClippedFraction ?? 0).toBeLessThan(0.08);
  });

  it('never forgets the stand lamp that nobody touched', () => {
    const advice = advise(facts({ skyStops: -5, paintedStops: -2.5, lights: [TORCH, BACK] }));
    const back = advice.options[0]!.changes.filter((own) => own.light === 'back').reduce(
      (product, own) => product * own.factor,
      1,
    );
    expect(Math.abs(Math.log2(back) + 1)).toBeLessThan(0.35);
    expect(advice.options[0]!.walks).toBe(1);
    expect(advice.options[0]!.why).toContain('though nobody touched it');
  });

  it('of two lamps that one frame does not tell apart the held one alone is changed, where changing both alike would burn the brightest part', () => {
    const lights = [TORCH, BACK];
    // The paint is a stop too dark, and its brightest part is at clipping.
    const headroom = {
      ...facts({}).headroom!,
      fractionAbove: Array.from({ length: 41 }, (_, n) => Math.min(1, 0.002 * 2 ** n)),
    };
    const [best] = advise(facts({ lights, paintedStops: -3.5, headroom })).options;
    expect(best!.changes.map(({ what, light }) => [what, light])).toEqual([['paintTime', 'torch']]);
    expect(best!.why).toContain('One frame does not tell the lamps apart');
    expect(best!.why).toContain('torch to light most of the paint and back its brightest part');
    expect(Math.abs(best!.predicted.balanceStops! - 1.5)).toBeLessThan(0.35);
    // With room for both they keep their shares, and nothing is guessed.
    const [both] = advise(facts({ lights, paintedStops: -3.5 })).options;
    const factors = both!.changes.filter(({ light }) => light !== undefined).map(({ factor }) => Math.log2(factor));
    expect(factors).toHaveLength(2);
    expect(Math.abs(factors[0]! - factors[1]!)).toBeLessThan(0.4);
    expect(both!.why).not.toContain('does not tell the lamps apart');
  });

  it('ISO and aperture alone never move the balance', () => {
    const { options } = advise(facts({ skyStops: -4, paintedStops: -1, settings: { ...facts({}).settings } }));
    for (const option of options)
      expect(option.changes.some((own) => own.light !== undefined || own.what === 'shutter')).toBe(true);
  });

  it('without lamp notes gives factors only and says what it assumes', () => {
    const { options } = advise(facts({ paintedStops: -1, lights: [ASSUMED_LIGHT] }));
    const paint = change(options[0], 'paintTime', 'paint')!;
    expect(paint.from).toBeNull();
    expect(paint.to).toBeNull();
    expect(Math.log2(paint.factor)).toBeCloseTo(-1.5, 0);
    expect(options[0]!.why).toContain('No lamp was noted');
  });

  it("without lamp notes says what a lamp that burnt through would need: the paint's factor over the shutter's", () => {
    const { options } = advise(facts({ skyStops: -5, paintedStops: -1, lights: [ASSUMED_LIGHT] }));
    for (const option of options) {
      const power = change(option, 'paintTime', 'paint')!.factor / (change(option, 'shutter')?.factor ?? 1);
      const told = /it needs ([0-9.]+) times/.exec(option.why)?.[1];
      expect(Math.abs(Math.log2(Number(told) / power))).toBeLessThan(0.1);
    }
  });

  it('offers only what cameras, lamps and hands have', () => {
    for (const option of advise(facts({ skyStops: -6, paintedStops: -1.2, lights: [TORCH, BACK] })).options)
      for (const { what, to, light } of option.changes) {
        if (to === null) continue;
        if (what === 'iso') expect(ISO_MARKS as readonly number[]).toContain(to);
        if (what === 'paintTime') expect((to * 2) % 1).toBe(0);
        if (what === 'lampPower') expect(POWER_STEPS as readonly number[]).toContain(to);
        if (what === 'lampDistance') expect((to * 2) % 1).toBe(0);
        if (light === 'torch' && what === 'paintTime') expect(to).toBeLessThanOrEqual(30);
      }
  });

  it('paint is never longer than the shutter', () => {
    const long: Light = { ...TORCH, seconds: 18 };
    for (const option of advise(facts({ skyStops: -2, paintedStops: -2, lights: [long] })).options) {
      const shutter = change(option, 'shutter')?.to ?? 20;
      const count = change(option, 'paintTime', 'torch')?.to ?? 18;
      expect(count).toBeLessThanOrEqual(shutter);
    }
  });

  it('stays inside ISO, aperture and shutter limits, and says when they do not reach', () => {
    const { options } = advise(
      facts({ skyStops: -9, paintedStops: -7.5, wishes: { ...DEFAULT_WISHES, maxIso: 3200 } }),
    );
    for (const option of options) {
      expect(change(option, 'iso')?.to ?? 1600).toBeLessThanOrEqual(3200);
      expect(change(option, 'shutter')?.to ?? 20).toBeLessThanOrEqual(30);
    }
    expect(options[0]!.why).toContain('limits');
  });

  it('a sky bright by itself is not blamed on lamps', () => {
    const { options } = advise(
      facts({
        skyStops: -0.5,
        paintedStops: 0,
        settings: { ...facts({}).settings, iso: 100, shutterSeconds: 2, aperture: 8 },
      }),
    );
    if (options.length > 0) expect(options[0]!.why).toMatch(/bright by itself|over its target/);
  });

  it('says so when nobody can be at the lamp in time, and leaves no count that does not fit', () => {
    const bright = { paintedStops: -1 };
    const far = advise(facts({ ...bright, wishes: { ...DEFAULT_WISHES, lateSeconds: 38 } }));
    expect(far.summary).toMatch(/^Nobody can be at the lamp in time: .* Set a longer delay\.$/);
    expect(far.options).toEqual([]);
    const near = advise(facts({ ...bright, wishes: { ...DEFAULT_WISHES, lateSeconds: 12 } }));
    for (const { changes } of near.options) {
      const to = (what: string): number | undefined => changes.find((change) => change.what === what)?.to ?? undefined;
      expect(to('paintTime') ?? 3).toBeLessThanOrEqual((to('shutter') ?? 20) - 12);
    }
  });

  it('paint far under the sky is paint that is too dark, and no lamp that is too weak is taken farther off', () => {
    const weak = facts({ paintedStops: -10 });
    const advice = advise(weak);
    expect(advice.verdict).toBe('adjust');
    for (const { changes } of advice.options)
      for (const { what, factor } of changes) if (what === 'lampDistance') expect(factor).toBeGreaterThan(1);
  });

  it('a limit that no camera keeps still leaves the lamps to be put right', () => {
    const advice = advise(facts({ paintedStops: -1, wishes: { ...DEFAULT_WISHES, maxIso: 20 } }));
    expect(advice.options[0]!.changes.some(({ light }) => light === 'torch')).toBe(true);
    expect(advice.options[0]!.why).toContain('so they were set aside');
  });

  it('a damaged file gets no advice: its levels may be anything', () => {
    const { verdict, options, summary } = advise(facts({ damaged: true }));
    expect(verdict).toBe('unreadable');
    expect(options).toEqual([]);
    expect(summary).toContain('damaged');
  });

  it('no sky, no advice', () => {
    expect(advise(facts({ skyStops: null })).verdict).toBe('unreadable');
  });

  it('moving a lamp away evens its light out: 4 m to 8 m', () => {
    // Ground spanning 3 stops from 4 m: r = 4 (2^1.5 - 1) / (2^1.5 + 1) = 1.91 m; from 8 m it spans 1.40 stops.
    expect(spreadAfter(3, 4, 8)).toBeCloseTo(1.405 / 3, 2);
    expect(spreadAfter(3, 4, 4)).toBeCloseTo(1, 6);
  });
});

import { describe, expect, it } from 'vitest';
import { DEFAULT_WISHES } from '../../src/model/wishes.js';
import type { PlanQuestion } from '../../src/pipeline/firstSettings.js';
import { planNight } from '../../src/pipeline/planNight.js';

const QUESTION: PlanQuestion = {
  latitudeDeg: -43.9,
  longitudeDeg: 170.5,
  zone: null,
  date: '2026-06-15',
  skyMagnitude: 21.5,
  lens: { aperture: 2.8, focalMm: 14, pixelPitchUm: 6, widthPx: 6000, heightPx: 4000 },
  like: null,
  wishes: DEFAULT_WISHES,
  lamps: [],
  reflectance: 0.2,
};

describe('the night of a date', () => {
  it('is the same one whatever zone its times are told in', () => {
    const moments = (zone: string | null): number[] => {
      const { darkWindows, twilight, moon } = planNight({ ...QUESTION, zone });
      const told = [
        twilight.sunset,
        twilight.sunrise,
        moon.rise,
        moon.set,
        ...darkWindows.flatMap((w) => [w.from, w.to]),
      ];
      return told.map((time) => Date.parse(time ?? ''));
    };
    const own = moments(null);
    expect(own.length).toBe(6);
    for (const zone of ['UTC', '+09:00', 'America/Lima']) expect(moments(zone)).toEqual(own);
  });

  it('is dark without a Moon from the minute that the Moon has set, as its set is told', () => {
    const { darkWindows, moon } = planNight({ ...QUESTION, latitudeDeg: 40, longitudeDeg: -3, date: '2026-03-28' });
    const apart = Date.parse(darkWindows[0]!.from) - Date.parse(moon.set!);
    // Refraction is taken as 34' for both; the Moon's own radius varies by 1'.
    expect(Math.abs(apart)).toBeLessThan(45_000);
  });
});

describe('first settings', () => {
  it('shorten the shutter where the lowest ISO is too much for a bright sky', () => {
    const { start } = planNight({ ...QUESTION, latitudeDeg: 60, longitudeDeg: 25, date: '2026-06-21' });
    expect(start!.shutterSeconds).toBeLessThan(5);
    expect(Math.abs(start!.skyStops - DEFAULT_WISHES.skyTargetStops)).toBeLessThan(0.2);
  });

  it('count on beyond a minute where stars may trail', () => {
    const wishes = { ...DEFAULT_WISHES, trailPxAllowed: 100, maxShutterSeconds: 3600 };
    expect(planNight({ ...QUESTION, wishes }).start!.shutterSeconds).toBeGreaterThan(200);
  });
});

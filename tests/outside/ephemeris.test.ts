import { describe, expect, it } from 'vitest';
import { bodyPlace, compassWord, corePlace, moonLitFraction, twilightStops } from '../../src/physics/ephemeris.js';
import { momentOf, zoneAt } from '../../src/physics/localTime.js';

const BLUFFTON = [40.8939, -83.8917] as const;

describe('Sun', () => {
  // USNO rise and set for Bluffton, Ohio, 2018-09-12, whole minutes (as quoted in the skyfield test suite); upper limb with refraction: -0.8333 degrees.
  it.each(['2018-09-12T11:13:00Z', '2018-09-12T23:50:00Z'])('stands on the horizon at %s', (at) => {
    expect(Math.abs(bodyPlace('Sun', new Date(at), ...BLUFFTON).altitudeDeg + 0.8333)).toBeLessThan(0.12);
  });
  // USNO twilights for Defiance, Ohio, 2019-11-08 UTC, whole minutes (held in the skyfield test suite).
  it.each([
    ['10:42', -18],
    ['11:15', -12],
    ['11:48', -6],
    ['12:17', -0.8333],
    ['22:25', -0.8333],
    ['22:54', -6],
    ['23:27', -12],
    ['23:59', -18],
  ])('stands in Defiance at %s at %f degrees', (time, wanted) => {
    const { altitudeDeg } = bodyPlace('Sun', new Date(`2019-11-08T${time}:00Z`), 41.281944, -84.362778);
    expect(Math.abs(altitudeDeg - wanted)).toBeLessThan(0.12);
  });
  it('is in the east in the morning and in the west in the evening', () => {
    expect(compassWord(bodyPlace('Sun', new Date('2018-09-12T11:13:00Z'), ...BLUFFTON).azimuthDeg)).toBe('east');
    expect(compassWord(bodyPlace('Sun', new Date('2018-09-12T23:50:00Z'), ...BLUFFTON).azimuthDeg)).toBe('west');
  });
});

describe('Moon', () => {
  // Meeus, Astronomical Algorithms, 2nd edition, example 48.a: 1992 April 12, 0h TD, lit fraction 0.6786.
  it('is lit as in Meeus 48.a', () => {
    expect(moonLitFraction(new Date('1992-04-11T23:59:01Z'))).toBeCloseTo(0.6786, 2);
  });
  // USNO lit fractions at 05h UT, 2018-09-09 to 18 (held in the skyfield test suite).
  it.each([0, 0, 0.03, 0.08, 0.15, 0.24, 0.33, 0.43, 0.52, 0.62].map((lit, n): [number, number] => [9 + n, lit]))(
    'on September %i',
    (day, lit) => {
      expect(Math.abs(moonLitFraction(new Date(Date.UTC(2018, 8, day, 5))) - lit)).toBeLessThan(0.011);
    },
  );
  // USNO phases of 2018: full 09-25 02:52 UT, first quarter 09-16 23:15 UT.
  it('is full and half lit when USNO says', () => {
    expect(moonLitFraction(new Date('2018-09-25T02:52:00Z'))).toBeGreaterThan(0.995);
    expect(moonLitFraction(new Date('2018-09-16T23:15:00Z'))).toBeCloseTo(0.5, 1);
  });
});

describe('core of the Milky Way', () => {
  // Upper transit altitude = 90 - |latitude - declination|, Sgr A* at -29.008 (spherical astronomy; references, section 8).
  it.each([
    [0, 60.99],
    [30, 30.99],
    [50, 10.99],
  ])('culminates at latitude %i at %f degrees', (latitude, wanted) => {
    let highest = -90;
    for (let minute = 0; minute < 1440; minute += 2)
      highest = Math.max(highest, corePlace(new Date(Date.UTC(2026, 5, 20, 0, minute)), latitude, 0).altitudeDeg);
    expect(Math.abs(highest - wanted)).toBeLessThan(0.1);
  });
});

describe('twilight', () => {
  // Patat, Ugolnikov and Postylyakov 2006, A&A 455, 385, table 1, V band, zenith: 17.00, 19.67, 21.32 mag for Sun at -9, -12, -15 (rms 0.18).
  it.each([
    [-9, 17.0],
    [-12, 19.67],
    [-15, 21.32],
  ])('Sun at %i', (altitude, magnitude) => {
    const over = Math.log2((10 ** (-0.4 * magnitude) + 10 ** (-0.4 * 21.7)) / 10 ** (-0.4 * 21.7));
    expect(Math.abs(twilightStops(altitude)! - over)).toBeLessThan(0.02);
  });
  it('is over when the Sun is far down, and not told by day', () => {
    expect(twilightStops(-18)).toBe(0);
    expect(twilightStops(-3)).toBeNull();
  });
});

describe('wall clock', () => {
  it('uses the zone of the file, else the place, else none', () => {
    expect(momentOf('2026-07-14T23:10:00+02:00', null)?.toISOString()).toBe('2026-07-14T21:10:00.000Z');
    // IANA tz database: Madrid is two hours ahead of UTC in July, one in January.
    expect(zoneAt(40.4, -3.7)).toBe('Europe/Madrid');
    expect(momentOf('2026-07-14T23:10:00', 'Europe/Madrid')?.toISOString()).toBe('2026-07-14T21:10:00.000Z');
    expect(momentOf('2026-01-14T23:10:00', 'Europe/Madrid')?.toISOString()).toBe('2026-01-14T22:10:00.000Z');
    expect(momentOf('2026-07-14T23:10:00', '-03:30')?.toISOString()).toBe('2026-07-15T02:40:00.000Z');
    expect(momentOf('2026-07-14T23:10:00', null)).toBeNull();
    expect(momentOf('not a time', 'Europe/Madrid')).toBeNull();
  });
});

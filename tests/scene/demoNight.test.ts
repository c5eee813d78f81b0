import { expect, it } from 'vitest';
import { demoNight, demoSetup } from '../../src/scene/demoNight.js';

// A sidereal day is 23 h 56 min 4.0905 s (IERS; Meeus, Astronomical Algorithms, chapter 12).
const SIDEREAL_DAY_MINUTES = 23 * 60 + 56 + 4.0905 / 60;

it('the sky of the demo night turns with its clock, within a setup and between setups', () => {
  const minutesOf = (takenAt: string): number => {
    const [date, time] = takenAt.split(' ');
    return Date.parse(`${date!.replaceAll(':', '-')}T${time!}Z`) / 60_000;
  };
  const shots = demoNight();
  const first = minutesOf(shots[0]!.takenAt);
  const begins = demoSetup('hut').siderealDeg;
  expect(shots).toHaveLength(24);
  for (const { setup, turnedDeg, takenAt } of shots) {
    const turned = ((minutesOf(takenAt) - first) * 360) / SIDEREAL_DAY_MINUTES;
    expect(Math.abs(demoSetup(setup).siderealDeg + turnedDeg - begins - turned)).toBeLessThan(0.1);
  }
});

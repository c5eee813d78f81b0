import { describe, expect, it } from 'vitest';
import {
  darkSkyNanolamberts,
  luminanceOfMagnitude,
  magnitudeOfLuminance,
  magnitudeOfNanolamberts,
  moonNanolamberts,
  nanolambertsOfMagnitude,
  skyAirMass,
  twilightMagnitude,
} from '../../src/physics/skyBrightness.js';

describe('brightness of the sky', () => {
  // Unihedron's conversion page: 16.6 magnitudes per square arcsecond are 0.02474137 cd/m^2.
  it('magnitude and luminance', () => {
    expect(luminanceOfMagnitude(16.6)).toBeCloseTo(0.02474137, 7);
    expect(magnitudeOfLuminance(0.02474137)).toBeCloseTo(16.6, 5);
  });
  // Krisciunas and Schaefer 1991: V = 21.587 is 79.0 nanolamberts.
  it('magnitude and nanolamberts', () => {
    expect(nanolambertsOfMagnitude(21.587)).toBeCloseTo(79.006, 1);
    expect(magnitudeOfNanolamberts(79.006)).toBeCloseTo(21.587, 3);
  });
  // The same paper's air mass: X(45) = 1.3868, X(60) = 1.8898, X(90) = 5.
  it.each([
    [0, 1],
    [45, 1.3868],
    [60, 1.8898],
    [90, 5],
  ])('air mass at %f degrees', (zenith, wanted) => {
    expect(skyAirMass(zenith)).toBeCloseTo(wanted, 3);
  });
  // specsim's docstring: observed at 20, Moon at 70 from the zenith, 50 apart, phase angle 45, k 0.15: V = 19.855.
  it('moonlight as in specsim', () => {
    const moon = { phaseAngleDeg: 45, altitudeDeg: 20, apartDeg: 50, zenithDistanceDeg: 20, extinction: 0.15 };
    expect(Math.abs(magnitudeOfNanolamberts(moonNanolamberts(moon)) - 19.855)).toBeLessThan(0.002);
  });
  // Independent hand evaluation (references, vector 12): full Moon 30 from the zenith, observed at 45, 30 apart, k 0.172, dark zenith 79 nL.
  it('full Moon by hand', () => {
    const moonlight = moonNanolamberts({
      phaseAngleDeg: 0,
      altitudeDeg: 60,
      apartDeg: 30,
      zenithDistanceDeg: 45,
      extinction: 0.172,
    });
    const dark = darkSkyNanolamberts(79, 45, 0.172);
    expect(Math.abs(moonlight / 3187.3 - 1)).toBeLessThan(1e-3);
    expect(Math.abs(dark / 103.04 - 1)).toBeLessThan(1e-3);
    expect(-2.5 * Math.log10((moonlight + dark) / dark)).toBeCloseTo(-3.7606, 2);
  });
  it('a Moon that is down gives no light', () => {
    const moon = { phaseAngleDeg: 0, altitudeDeg: -1, apartDeg: 60, zenithDistanceDeg: 30, extinction: 0.172 };
    expect(moonNanolamberts(moon)).toBe(0);
  });
  // Patat, Ugolnikov and Postylyakov 2006, table 1, V: Sun at -6, -9, -12, -15 degrees.
  it.each([
    [-6, 13.3],
    [-9, 17.0],
    [-12, 19.67],
    [-15, 21.32],
  ])('twilight with the Sun at %f degrees', (sun, wanted) => {
    expect(Math.abs(twilightMagnitude(sun)! - wanted)).toBeLessThan(0.011);
  });
  it('says nothing of twilight outside the fit', () => {
    expect(twilightMagnitude(-4)).toBeNull();
    expect(twilightMagnitude(-16)).toBeNull();
  });
});

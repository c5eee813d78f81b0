import { describe, expect, it } from 'vitest';
import { angleAt, PROJECTIONS, radialScale, radiusAt } from '../../src/physics/lens.js';
import { candelaOfBeamDistance, candelaOfLumens, paintSecondsFor } from '../../src/physics/torch.js';
import { paintOverSky } from '../../src/physics/exposure.js';

describe('light of a torch from its box', () => {
  // ANSI/PLATO FL 1: 0.25 lx at the beam distance; 10 000 cd reach 200 m, 40 000 cd 400 m.
  it.each([
    [200, 10_000],
    [400, 40_000],
  ])('beam distance %f m', (metres, candela) => {
    expect(candelaOfBeamDistance(metres)).toBe(candela);
  });
  // A unit-conversion page: 337 lm in a 60 degree cone, 400.3 cd; UliEngineering's docs: 25 lm in 120 degrees, 7.957747 cd.
  it.each([
    [337, 60, 400.339],
    [25, 120, 7.957747],
    [1000, 10, 41_825],
  ])('%f lm in %f degrees', (lumens, angle, candela) => {
    expect(Math.abs(candelaOfLumens(lumens, angle) / candela - 1)).toBeLessThan(2e-5);
  });
  // references.md 5.2, worked: 1 cd at 5 m, reflectance 0.2, 20 s, under a 22.0 sky (1.7117e-4 cd/m^2): 3.89 stops over it.
  it('paint time is the core relation turned round', () => {
    const light = {
      reflectance: 0.2,
      intensityCd: 1,
      cosIncidence: 1,
      distanceM: 5,
      skyCdM2: 1.7117e-4,
      shutterSeconds: 20,
    };
    expect(paintSecondsFor(3.89, light)).toBeCloseTo(20, 0);
    expect(Math.log2(paintOverSky({ ...light, paintSeconds: paintSecondsFor(1.5, light) }))).toBeCloseTo(1.5, 9);
  });
});

describe('projections', () => {
  // PanoTools wiki and optowiki, "fisheye types": closed forms at 60 degrees.
  it.each([
    ['rectilinear', Math.sqrt(3)],
    ['equidistant', Math.PI / 3],
    ['equisolid', 1],
    ['stereographic', 2 * Math.tan(Math.PI / 6)],
  ] as const)('%s', (projection, wanted) => {
    expect(radiusAt(projection, Math.PI / 3)).toBeCloseTo(wanted, 12);
  });
  it.each(PROJECTIONS)('%s: there and back, and the slope by differences', (projection) => {
    for (const theta of [0.01, 0.3, 0.9, 1.3]) {
      expect(angleAt(projection, radiusAt(projection, theta)!)).toBeCloseTo(theta, 10);
      const step = 1e-6;
      const slope = (radiusAt(projection, theta + step)! - radiusAt(projection, theta - step)!) / (2 * step);
      expect(radialScale(projection, theta)).toBeCloseTo(slope, 4);
    }
  });
  it('no ray lands beyond the rim', () => {
    expect(angleAt('equisolid', 2.1)).toBeNull();
    expect(radiusAt('rectilinear', 1.6)).toBeNull();
  });
});

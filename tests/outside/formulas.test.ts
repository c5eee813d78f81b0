import { describe, expect, it } from 'vitest';
import { linearToSrgb, srgbToLinear } from '../../src/physics/encoding.js';
import {
  burningThroughRatio,
  distanceRatio,
  focalPlaneExposure,
  paintOverSky,
  saturationFraction,
  sensitivityRatio,
} from '../../src/physics/exposure.js';
import {
  fiveHundredSeconds,
  npfSeconds,
  plateScaleArcsecPerPx,
  rectilinearStretch,
  SIDEREAL_RATE_ARCSEC_PER_S,
  trailFromMoments,
  trailPx,
} from '../../src/physics/trailing.js';
import { axesOverHemisphere, rotationTrail } from '../../src/physics/starField.js';

describe('IEC 61966-2-1 (sRGB)', () => {
  // Source: colour-science unit test; code values computed from the standard's formula.
  it('encodes 18 % as 0.461356129500442, code 118', () => {
    expect(linearToSrgb(0.18)).toBeCloseTo(0.461356129500442, 12);
    expect(Math.round(linearToSrgb(0.18) * 255)).toBe(118);
  });
  it.each([
    [1, 0.000304],
    [10, 0.003035],
    [11, 0.003347],
    [64, 0.051269],
    [118, 0.181164],
    [128, 0.215861],
    [188, 0.502886],
    [254, 0.991102],
  ])('decodes code %i to %f', (code, light) => {
    expect(srgbToLinear(code / 255)).toBeCloseTo(light, 6);
  });
});

describe('ISO 12232 exposure and saturation', () => {
  // Source: ISO 12232:2006 by the docstrings of colour-hdri: L 4000 cd/m2, f/8, 1/250 s, q = 0.6515748 gives H = 0.1628937 lx s.
  it('focal-plane exposure', () => {
    expect(focalPlaneExposure(4000, 1 / 250, 8, 0.6515748)).toBeCloseTo(0.1628937, 6);
  });
  // Same source, with flare 0.0015 lx s at ISO 400: 0.8430446 of saturation.
  it('fraction of saturation H S / 78', () => {
    expect(saturationFraction(0.1628937 + 0.0015, 400)).toBeCloseTo(0.8430446, 5);
  });
});

describe('paint over sky', () => {
  // Source: worked example (references 5.2, computed from the Lambertian law): lamp 1 cd at 5 m, reflectance 0.2, 20 s, against a
  // 22.0 mag sky (1.712e-4 cd/m2) for 20 s: 3.89 stops above the sky.
  it('is 3.89 stops for the worked lamp', () => {
    const ratio = paintOverSky({
      reflectance: 0.2,
      intensityCd: 1,
      cosIncidence: 1,
      distanceM: 5,
      paintSeconds: 20,
      skyCdM2: 1.712e-4,
      shutterSeconds: 20,
    });
    expect(Math.log2(ratio)).toBeCloseTo(3.89, 1);
  });
  it('inverse square: 10 m to 14.142 m is one stop, 5 m to 7 m 0.971 stop', () => {
    expect(Math.log2(distanceRatio(10, 14.1421356))).toBeCloseTo(-1, 6);
    expect(Math.log2(distanceRatio(5, 7))).toBeCloseTo(-0.971, 3);
  });
  // Common practice, no source: f/2.8, 30 s, ISO 1600 to 3200 with a 3 s count means 1.5 s, and 2 s is 0.4 stop over.
  it('ISO up a stop: a 3 s count becomes 1.5 s; 2 s is 0.4 stop too bright', () => {
    const from = { iso: 1600, shutterSeconds: 30, aperture: 2.8 };
    const gain = sensitivityRatio(from, { ...from, iso: 3200 });
    expect(3 / gain).toBe(1.5);
    expect(Math.log2((gain * 2) / 3)).toBeCloseTo(0.415, 3);
    expect(burningThroughRatio(from, { ...from, iso: 3200 })).toBe(2);
  });
});

describe('trailing', () => {
  it('sidereal rate 15.04107 arcsec/s', () => {
    expect(SIDEREAL_RATE_ARCSEC_PER_S).toBeCloseTo(15.04107, 5);
  });
  // From first principles: 1 um pixel at 1 mm is 206.265 arcsec, crossed in 206.265 / 15.0411 = 13.7134 s: the rule's last term.
  it('NPF: its pixel term is the time to cross one pixel', () => {
    expect(plateScaleArcsecPerPx(1, 1) / SIDEREAL_RATE_ARCSEC_PER_S).toBeCloseTo(13.7134, 3);
    expect(npfSeconds(0, 1, 1) - npfSeconds(0, 1, 0)).toBeCloseTo(13.713, 3);
  });
  // Rows computed from M. Michaud's coefficients (Societe Astronomique du Havre): N, p, f, full k = 1 at dec 0, at 60 degrees, 500 rule, trail.
  it.each([
    [2.8, 5.93, 24, 5.454, 10.909, 20.83, 1.61],
    [2.8, 4.35, 14, 7.732, 15.463, 35.71, 1.81],
    [1.8, 4.35, 20, 4.599, 9.199, 25, 1.54],
    [1.4, 5.97, 35, 3.113, 6.226, 14.29, 1.33],
    [2.8, 6, 50, 2.689, 5.378, 10, 1.63],
  ])('NPF f/%f %f um %i mm', (aperture, pitch, focal, full, at60, fiveHundred, trail) => {
    expect(npfSeconds(aperture, focal, pitch)).toBeCloseTo(full, 2);
    expect(npfSeconds(aperture, focal, pitch, 1, 60)).toBeCloseTo(at60, 2);
    expect(fiveHundredSeconds(focal)).toBeCloseTo(fiveHundred, 2);
    expect(trailPx(npfSeconds(aperture, focal, pitch), focal, pitch)).toBeCloseTo(trail, 2);
  });
  // PanoTools projections: 36 x 24 mm corner (21.63 mm): sec^2 and sec of theta.
  it.each([
    [14, 3.388, 1.841],
    [20, 2.17, 1.473],
    [24, 1.812, 1.346],
    [35, 1.382, 1.176],
  ])('corner stretch at %i mm', (focal, radial, tangential) => {
    const stretch = rectilinearStretch(Math.hypot(18, 12), focal);
    expect(stretch.radial).toBeCloseTo(radial, 2);
    expect(stretch.tangential).toBeCloseTo(tangential, 2);
  });
  // photutils 1.6 and sep on pixel-integrated trailed Gaussians (sigma, L; a, b).
  it.each([
    [4, 1.6901, 1.2341],
    [6, 2.3093, 1.5274],
  ])('trail %f px from plain moments', (length, a, b) => {
    expect(trailFromMoments(a, b)).toBeCloseTo(length, 2);
  });
  it('a rotation about the axis through the frame gives trails along circles, as long as the angle says', () => {
    const trail = rotationTrail(300, 0, 1000, [0, 0, 1], 0.01);
    expect(trail.dx).toBeCloseTo(0, 9);
    expect(trail.dy).toBeCloseTo(3, 9);
    // About the vertical: sec^2 stretch along the row (x = 1000 is 45 degrees).
    expect(rotationTrail(1000, 0, 1000, [0, 1, 0], 0.01).dx).toBeCloseTo(20, 9);
    expect(axesOverHemisphere(100).every(([x, y, z]) => Math.abs(Math.hypot(x, y, z) - 1) < 1e-9)).toBe(true);
  });
});

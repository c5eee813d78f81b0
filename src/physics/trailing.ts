/** Sidereal rate in arcseconds per second of time: 360 x 3600 / 86164.0905. */
export const SIDEREAL_RATE_ARCSEC_PER_S = (360 * 3600) / 86164.0905;

const ARCSEC_PER_RADIAN = 206264.806;

/** Arcseconds per pixel on the axis: 206.265 p / f (p in micrometres, f in millimetres). */
export function plateScaleArcsecPerPx(pixelPitchUm: number, focalMm: number): number {
  return ((ARCSEC_PER_RADIAN / 1000) * pixelPitchUm) / focalMm;
}

/** Trail on the axis in pixels: omega t cos(dec) / plate scale. */
export function trailPx(shutterSeconds: number, focalMm: number, pixelPitchUm: number, declinationDeg = 0): number {
  const drift = SIDEREAL_RATE_ARCSEC_PER_S * shutterSeconds * Math.cos((declinationDeg * Math.PI) / 180);
  return drift / plateScaleArcsecPerPx(pixelPitchUm, focalMm);
}

/**
 * NPF rule, full form (F. Michaud, Societe Astronomique du Havre, "La regle NPF"):
 * t = k (16.856 N + 0.0997 f + 13.713 p) / (f cos dec). N f-number, f true focal length in mm, p in micrometres;
 * k from 1 (points) to 3; `declinationDeg` is the smallest |declination| in the field, 0 when not known.
 */
export function npfSeconds(aperture: number, focalMm: number, pixelPitchUm: number, k = 1, declinationDeg = 0): number {
  const micrometres = 16.856 * aperture + 0.0997 * focalMm + 13.713 * pixelPitchUm;
  return (k * micrometres) / (focalMm * Math.cos((declinationDeg * Math.PI) / 180));
}

/** Folk rule, no standard: 500 / (f x crop), here without the crop factor (full frame form). */
export function fiveHundredSeconds(focalMm: number, crop = 1): number {
  return 500 / (focalMm * crop);
}

/**
 * Trail length from plain second moments (variance along the trail is sigma^2 + L^2 / 12, pixel integration adds 1/12 to
 * both axes and cancels): L = sqrt(12 (a^2 - b^2)).
 */
export function trailFromMoments(major: number, minor: number): number {
  return Math.sqrt(Math.max(0, 12 * (major * major - minor * minor)));
}

/**
 * How much longer than on the axis a trail can be at the edge of a rectilinear frame: radial stretch sec^2 theta,
 * tangential sec theta, theta from r = f tan(theta) (PanoTools, "fisheye projection"). Radius and focal length in mm.
 */
export function rectilinearStretch(radiusMm: number, focalMm: number): { radial: number; tangential: number } {
  const tan = radiusMm / focalMm;
  const secant = Math.sqrt(1 + tan * tan);
  return { radial: secant * secant, tangential: secant };
}

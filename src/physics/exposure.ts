/** Exposure laws of a frame lit by hand. All factors are relative: 2 is one stop brighter. */

export interface CameraExposure {
  readonly iso: number;
  readonly shutterSeconds: number;
  readonly aperture: number;
}

/**
 * Sky, ambient and stand lights: recorded light is proportional to ISO t / N^2 (ISO 12232:2006, H = q L t / N^2,
 * saturation at 78 / S). Returns the ratio `to / from`.
 */
export function burningThroughRatio(from: CameraExposure, to: CameraExposure): number {
  return sensitivityRatio(from, to) * (to.shutterSeconds / from.shutterSeconds);
}

/** Part of the ratio that moves every light alike: ISO and aperture. */
export function sensitivityRatio(
  from: Pick<CameraExposure, 'iso' | 'aperture'>,
  to: Pick<CameraExposure, 'iso' | 'aperture'>,
): number {
  return (to.iso / from.iso) * (from.aperture / to.aperture) ** 2;
}

/** EV at ISO 100, log2(N^2 / t) less what the ISO adds (ISO 2720): of the scene that these settings suit. */
export function exposureValue({ iso, shutterSeconds, aperture }: CameraExposure): number {
  return Math.log2((aperture ** 2 * 100) / (shutterSeconds * iso));
}

/** Inverse square law, E = I cos(theta) / d^2, for a small source (beyond 5 of its largest dimensions, within 1 %). */
export function distanceRatio(fromMetres: number, toMetres: number): number {
  return (fromMetres / toMetres) ** 2;
}

/**
 * Painted over sky luminance exposure, rho I cos(theta) t_paint / (pi d^2 L_sky t_shutter): ISO and aperture cancel.
 * Lambertian surface, L = rho E / pi. Intensity in candela, distance in metres, L_sky in cd/m^2.
 */
export function paintOverSky(light: {
  reflectance: number;
  intensityCd: number;
  cosIncidence: number;
  distanceM: number;
  paintSeconds: number;
  skyCdM2: number;
  shutterSeconds: number;
}): number {
  const painted =
    (light.reflectance * light.intensityCd * light.cosIncidence * light.paintSeconds) / light.distanceM ** 2;
  return painted / (Math.PI * light.skyCdM2 * light.shutterSeconds);
}

/** Focal-plane exposure in lux seconds, H = q L t / N^2 with q = 0.65 (ISO 12232:2006: T 0.9, vignetting 0.98, 10 degrees). */
export function focalPlaneExposure(luminanceCdM2: number, shutterSeconds: number, aperture: number, q = 0.65): number {
  return (q * luminanceCdM2 * shutterSeconds) / aperture ** 2;
}

/** Fraction of saturation, H S / 78 (ISO 12232 saturation speed; a camera marked by REI or SOS may be a stop away). */
export function saturationFraction(exposureLuxSeconds: number, iso: number): number {
  return (exposureLuxSeconds * iso) / 78;
}

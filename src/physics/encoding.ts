/** sRGB transfer curve, IEC 61966-2-1:1999. V and L in 0 to 1. */
export function srgbToLinear(value: number): number {
  return value <= 0.04045 ? value / 12.92 : ((value + 0.055) / 1.055) ** 2.4;
}

export function linearToSrgb(light: number): number {
  return light <= 0.0031308 ? 12.92 * light : 1.055 * light ** (1 / 2.4) - 0.055;
}

/** Luminance weights for *linear* light of the IEC 61966-2-1 primaries. */
export const LUMINANCE_WEIGHTS = [0.2126, 0.7152, 0.0722] as const;

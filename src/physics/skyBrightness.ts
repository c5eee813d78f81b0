/** Brightness of the night sky, V band. Magnitudes are per square arcsecond; 1 nanolambert = 1e-5 / pi cd/m^2. */

/** L = 10.8e4 10^(-0.4 m) cd/m^2 (Unihedron; another zero point in use lies 0.4 % away). */
export function luminanceOfMagnitude(magnitude: number): number {
  return 10.8e4 * 10 ** (-0.4 * magnitude);
}

export function magnitudeOfLuminance(cdM2: number): number {
  return -2.5 * Math.log10(cdM2 / 10.8e4);
}

/** B = 34.08 exp(20.7233 - 0.92104 V) nanolamberts (Garstang 1986, as in Krisciunas and Schaefer 1991, eq. 1). */
export function nanolambertsOfMagnitude(magnitude: number): number {
  return 34.08 * Math.exp(20.7233 - 0.92104 * magnitude);
}

export function magnitudeOfNanolamberts(nanolamberts: number): number {
  return (20.7233 - Math.log(nanolamberts / 34.08)) / 0.92104;
}

/** Air mass for sky light, X = (1 - 0.96 sin^2 Z)^-1/2 (Krisciunas and Schaefer 1991, eq. 3). */
export function skyAirMass(zenithDistanceDeg: number): number {
  return 1 / Math.sqrt(1 - 0.96 * Math.sin((zenithDistanceDeg * Math.PI) / 180) ** 2);
}

/** V extinction at a good site, magnitudes an air mass (the paper's Mauna Kea value). */
export const GOOD_EXTINCTION = 0.172;

/** Dark sky away from the zenith, nanolamberts (Krisciunas and Schaefer 1991, eq. 2). */
export function darkSkyNanolamberts(zenithNanolamberts: number, zenithDistanceDeg: number, extinction: number): number {
  const airMass = skyAirMass(zenithDistanceDeg);
  return zenithNanolamberts * 10 ** (-0.4 * extinction * (airMass - 1)) * airMass;
}

/**
 * Moonlight scattered by the sky, nanolamberts: Krisciunas and Schaefer 1991, PASP 103, 1033, eqs. 15, 18, 20, 21. `phaseAngleDeg` is 0 at
 * full Moon, `apartDeg` between the Moon and the place looked at. The paper states 8 to 23 %. A Moon that is down gives nothing.
 */
export function moonNanolamberts(moon: {
  readonly phaseAngleDeg: number;
  readonly altitudeDeg: number;
  readonly apartDeg: number;
  readonly zenithDistanceDeg: number;
  readonly extinction: number;
}): number {
  if (moon.altitudeDeg <= 0) return 0;
  const { phaseAngleDeg: phase, apartDeg: apart, extinction } = moon;
  const illuminance = 10 ** (-0.4 * (3.84 + 0.026 * Math.abs(phase) + 4e-9 * phase ** 4));
  const rayleigh = 10 ** 5.36 * (1.06 + Math.cos((apart * Math.PI) / 180) ** 2);
  const mie = apart >= 10 ? 10 ** (6.15 - apart / 40) : 6.2e7 / Math.max(0.25, apart) ** 2;
  const through = 10 ** (-0.4 * extinction * skyAirMass(90 - moon.altitudeDeg));
  const scattered = 1 - 10 ** (-0.4 * extinction * skyAirMass(moon.zenithDistanceDeg));
  return (rayleigh + mie) * illuminance * through * scattered;
}

/**
 * Zenith in twilight, magnitudes: Patat, Ugolnikov and Postylyakov 2006, A&A 455, 385, table 1, V: 11.84 + 1.518 phi - 0.057 phi^2, phi the
 * Sun's zenith distance less 95 degrees, for the Sun from -5 to -15 degrees. Null when the Sun is higher (bright twilight, day) or lower.
 */
export function twilightMagnitude(sunAltitudeDeg: number): number | null {
  const phi = -sunAltitudeDeg - 5;
  return phi < 0 || phi > 10 ? null : 11.84 + 1.518 * phi - 0.057 * phi * phi;
}

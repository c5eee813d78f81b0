/** Light of torches and lamps from what is printed on their boxes. */

/** Beam distance of ANSI/PLATO FL 1: where the beam gives 0.25 lx. I = 0.25 d^2 candela, of the beam's middle. */
export function candelaOfBeamDistance(metres: number): number {
  return 0.25 * metres * metres;
}

/** Even light in a cone: I = lumens / (2 pi (1 - cos(angle / 2))), the full angle at the apex in degrees. */
export function candelaOfLumens(lumens: number, fullAngleDeg: number): number {
  return lumens / (2 * Math.PI * (1 - Math.cos((fullAngleDeg * Math.PI) / 360)));
}

/**
 * Seconds of held light that put a painted surface `stops` over the sky: the core relation solved for the paint time. Intensity in candela,
 * distance in metres, sky in cd/m^2.
 */
export function paintSecondsFor(
  stops: number,
  light: {
    readonly reflectance: number;
    readonly intensityCd: number;
    readonly cosIncidence: number;
    readonly distanceM: number;
    readonly skyCdM2: number;
    readonly shutterSeconds: number;
  },
): number {
  const { reflectance, intensityCd, cosIncidence, distanceM, skyCdM2, shutterSeconds } = light;
  return (
    (2 ** stops * Math.PI * distanceM * distanceM * skyCdM2 * shutterSeconds) /
    (reflectance * intensityCd * cosIncidence)
  );
}

/**
 * Intensity in candela of a lamp whose light alone puts a surface at `levelStops` under saturation: L = 2^level (78 / S) N^2 / (q t) with
 * q = 0.65 (ISO 12232:2006, H = q L t / N^2, saturation at 78 / S), then I = pi L d^2 / (reflectance cos) of a Lambertian surface. Left
 * out: that cameras lie up to a stop from the speed they are marked with.
 */
export function candelaOfPaint(
  levelStops: number,
  light: {
    readonly iso: number;
    readonly aperture: number;
    readonly seconds: number;
    readonly distanceM: number;
    readonly reflectance: number;
    readonly cosIncidence: number;
  },
): number {
  const { iso, aperture, seconds, distanceM, reflectance, cosIncidence } = light;
  const luminance = (2 ** levelStops * 78 * aperture * aperture) / (iso * 0.65 * seconds);
  return (Math.PI * luminance * distanceM * distanceM) / (reflectance * cosIncidence);
}

/** Light falls on ground and walls askew, 45 degrees in the middle (common practice, no source). */
export const COS_INCIDENCE = Math.SQRT1_2;

/** Ground that nobody has told of: grass (references: 0.1 to 0.4). */
export const USUAL_REFLECTANCE = 0.2;

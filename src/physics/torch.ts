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

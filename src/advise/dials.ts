/** The settings that cameras, lamps and hands really have. */

/** ISO in third stops as cameras mark them (ISO 12232 series, rounded as marked; common practice). */
export const ISO_MARKS = [
  100, 125, 160, 200, 250, 320, 400, 500, 640, 800, 1000, 1250, 1600, 2000, 2500, 3200, 4000, 5000, 6400, 8000, 10000,
  12800, 16000, 20000, 25600, 32000, 40000, 51200, 64000, 80000, 102400,
] as const;

/** Shutter in third stops as marked, to 30 s. */
const SHUTTER_MARKS = [0.5, 0.6, 0.8, 1, 1.3, 1.6, 2, 2.5, 3.2, 4, 5, 6, 8, 10, 13, 15, 20, 25, 30] as const;

export const APERTURE_MARKS = [
  1, 1.1, 1.2, 1.4, 1.6, 1.8, 2, 2.2, 2.5, 2.8, 3.2, 3.5, 4, 4.5, 5, 5.6, 6.3, 7.1, 8, 9, 10, 11, 13, 16, 22,
] as const;

/** Fractions of full power: halves, and tenths for lamps with a dial. */
export const POWER_STEPS = [
  1, 0.9, 0.8, 0.7, 0.6, 0.5, 0.4, 0.3, 0.25, 0.2, 0.15, 0.125, 0.1, 0.07, 0.05, 0.03, 0.02, 0.01,
] as const;

/** Marked times up to 30 s; beyond, whole seconds by remote release (every fifth is enough). */
export function shutterMarks(most: number): number[] {
  const marks: number[] = SHUTTER_MARKS.filter((seconds) => seconds <= most);
  for (let seconds = 35; seconds <= most; seconds += 5) marks.push(seconds);
  return marks;
}

/** The nearest count in half seconds, at least half a second. */
export function nearestCount(seconds: number): number {
  return Math.max(0.5, Math.round(seconds * 2) / 2);
}

/** The nearest distance in half metres, at least one metre. */
export function nearestDistance(metres: number): number {
  return Math.max(1, Math.round(metres * 2) / 2);
}

/** The step nearest in stops; `steps` are the lamp's own. */
export function nearestPower(power: number, steps: readonly number[] = POWER_STEPS): number {
  return steps.reduce((best, step) =>
    Math.abs(Math.log2(step / power)) < Math.abs(Math.log2(best / power)) ? step : best,
  );
}

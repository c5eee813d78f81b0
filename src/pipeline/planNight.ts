import type { Plan, PlanHour, PlanTwilight } from '../model/plan.js';
import {
  compassWord,
  moonLitFraction,
  moonMoments,
  NAUTICAL_DUSK_DEG,
  SUNSET_DEG,
  sunMoments,
  type SunMoments,
} from '../physics/ephemeris.js';
import { clockOf, isoIn, momentOf, zoneAt } from '../physics/localTime.js';
import { firstSettings, type PlanQuestion } from './firstSettings.js';
import { momentOfNight, type NightMoment, type Spot } from './nightMoment.js';
import { planLamps } from './planLamps.js';

const STEP_MINUTES = 10;

/** The night of a date at a place: twilights, Moon, core, dark hours, and the first settings. */
export function planNight(question: PlanQuestion): Plan {
  const { latitudeDeg, longitudeDeg, date } = question;
  const own = zoneAt(latitudeDeg, longitudeDeg);
  const zone = question.zone ?? own;
  // From noon to noon there, whatever clock the times are told by; by the Sun where no zone is known.
  const solar = new Date(Date.parse(`${date}T12:00:00Z`) - longitudeDeg * 240_000);
  const from = own === null ? solar : (momentOf(`${date}T12:00:00`, own) ?? solar);
  const to = new Date(from.getTime() + 86_400_000);
  const tell = (at: Date | null): string | null => (at === null ? null : isoIn(at, zone ?? '+00:00'));
  const sun = sunMoments(from, to, latitudeDeg, longitudeDeg);
  const spot = { latitudeDeg, longitudeDeg };
  const steps = everyTenMinutes(from, to).map((at) => momentOfNight(at, spot, question.skyMagnitude));
  const night = steps.filter(({ sunAltitude }) => sunAltitude < SUNSET_DEG);
  const lowest = steps.reduce((low, own) => (own.sunAltitude < low.sunAltitude ? own : low));
  const best = bestOf(night);
  const windows = darkWindows(steps, spot);
  const moon = moonMoments(from, to, latitudeDeg, longitudeDeg);
  const middle = lowest.at;
  const lit = moonLitFraction(middle);
  const start = best === null && lowest.magnitude === null ? null : firstSettings(question, best ?? lowest);
  return {
    schema: 'paintstop.plan/1',
    date,
    place: spot,
    zone,
    twilight: told(sun, tell),
    lowestSunDeg: rounded(lowest.sunAltitude, 1),
    moon: {
      rise: tell(moon.rise),
      set: tell(moon.set),
      litFraction: rounded(lit, 3),
      says: moonInWords(moon, lit, middle, tell),
    },
    core: night.map((own): PlanHour => ({
      at: tell(own.at)!,
      sunAltitudeDeg: rounded(own.sunAltitude, 1),
      moonAltitudeDeg: rounded(own.moonAltitude, 1),
      altitudeDeg: rounded(own.core.altitudeDeg, 2),
      azimuthDeg: rounded(own.core.azimuthDeg, 2),
      skyMagnitude: own.magnitude === null ? null : rounded(own.magnitude, 2),
    })),
    darkWindows: windows.map((window) => ({ from: tell(window.from)!, to: tell(window.to)! })),
    best:
      best === null
        ? null
        : {
            at: tell(best.at)!,
            altitudeDeg: rounded(best.core.altitudeDeg, 1),
            azimuthDeg: rounded(best.core.azimuthDeg, 1),
          },
    says: nightInWords(windows, best, lowest, night, tell),
    start: start?.settings ?? null,
    lamps:
      start === null
        ? []
        : planLamps(question.lamps, {
            skyCdM2: start.skyCdM2,
            shutterSeconds: start.settings.shutterSeconds,
            balanceStops: question.wishes.balanceTargetStops,
            reflectance: question.reflectance,
          }),
  };
}

function everyTenMinutes(from: Date, to: Date): Date[] {
  const step = STEP_MINUTES * 60_000;
  const found: Date[] = [];
  for (let at = Math.ceil(from.getTime() / step) * step; at < to.getTime(); at += step) found.push(new Date(at));
  return found;
}

/** The core this low is lost in haze (common practice, no source). */
const CORE_IS_UP_DEG = 5;

/** Highest core in a dark, moonless sky; else highest where the sky is within a stop of the night's darkest. */
function bestOf(night: readonly NightMoment[]): NightMoment | null {
  const up = night.filter(
    ({ core, magnitude, sunAltitude }) =>
      core.altitudeDeg > CORE_IS_UP_DEG && magnitude !== null && sunAltitude < NAUTICAL_DUSK_DEG,
  );
  if (up.length === 0) return null;
  const darkest = Math.max(...up.map(({ magnitude }) => magnitude!));
  const dark = up.filter(({ magnitude }) => magnitude! > darkest - 0.4);
  return dark.reduce((best, own) => (own.core.altitudeDeg > best.core.altitudeDeg ? own : best));
}

/** Its upper limb on the horizon, by 34' of refraction and 16' of radius, as rise and set are told (USNO). */
const MOON_IS_UP_DEG = -50 / 60;

function darkWindows(steps: readonly NightMoment[], spot: Spot): { from: Date; to: Date }[] {
  const isDark = ({ sunAltitude, moonAltitude }: NightMoment): boolean =>
    sunAltitude < -18 && moonAltitude < MOON_IS_UP_DEG;
  // To the second, by halving the ten minutes in which it changes.
  const edge = (before: NightMoment, after: NightMoment): Date => {
    let [low, high] = [before.at.getTime(), after.at.getTime()];
    while (high - low > 1000) {
      const middle = (low + high) / 2;
      if (isDark(momentOfNight(new Date(middle), spot, DARK_SKY)) === isDark(before)) low = middle;
      else high = middle;
    }
    return new Date(isDark(after) ? high : low);
  };
  const windows: { from: Date; to: Date }[] = [];
  let open: Date | null = null;
  for (const [n, step] of steps.entries()) {
    const dark = isDark(step);
    const before = steps[n - 1];
    if (dark && open === null) open = before === undefined ? step.at : edge(before, step);
    if (open !== null && (!dark || n === steps.length - 1)) {
      windows.push({ from: open, to: dark ? step.at : edge(before!, step) });
      open = null;
    }
  }
  return windows;
}

/** Any sky will do where only Sun and Moon are asked for. */
const DARK_SKY = 21.5;

function told(sun: SunMoments, tell: (at: Date | null) => string | null): PlanTwilight {
  return {
    sunset: tell(sun.sunset),
    civilDusk: tell(sun.civilDusk),
    nauticalDusk: tell(sun.nauticalDusk),
    astronomicalDusk: tell(sun.astronomicalDusk),
    astronomicalDawn: tell(sun.astronomicalDawn),
    nauticalDawn: tell(sun.nauticalDawn),
    civilDawn: tell(sun.civilDawn),
    sunrise: tell(sun.sunrise),
  };
}

function nightInWords(
  windows: readonly { readonly from: Date; readonly to: Date }[],
  best: NightMoment | null,
  lowest: NightMoment,
  night: readonly NightMoment[],
  tell: (at: Date | null) => string | null,
): string {
  const clock = (at: Date): string => clockOf(tell(at)!);
  const said: string[] = [];
  if (night.length === 0) said.push('No night at all: the Sun does not set.');
  else if (lowest.sunAltitude > -18)
    said.push(`No full dark: the Sun goes no lower than ${lowest.sunAltitude.toFixed(1)}° (at ${clock(lowest.at)}).`);
  else if (windows.length === 0) said.push('The Moon is up whenever it would be dark.');
  else
    said.push(
      `Dark without a Moon from ${windows.map(({ from, to }) => `${clock(from)} to ${clock(to)}`).join(' and from ')}.`,
    );
  if (best !== null)
    said.push(
      `The core is best at ${clock(best.at)}: ${best.core.altitudeDeg.toFixed(0)}° high in the ${compassWord(best.core.azimuthDeg)}.`,
    );
  else if (night.length > 0)
    said.push(
      night.some(({ core }) => core.altitudeDeg > 0)
        ? 'The core stays low, or is up only in bright twilight.'
        : 'The core does not rise over the horizon that night.',
    );
  return said.join(' ');
}

function moonInWords(
  { rise, set }: { readonly rise: Date | null; readonly set: Date | null },
  lit: number,
  middle: Date,
  tell: (at: Date | null) => string | null,
): string {
  const waxing = moonLitFraction(new Date(middle.getTime() + 86_400_000)) > lit;
  const phase =
    lit < 0.02
      ? 'new Moon'
      : lit > 0.98
        ? 'full Moon'
        : `${waxing ? 'waxing' : 'waning'} Moon, ${(lit * 100).toFixed(0)} % lit`;
  const parts = [phase];
  if (rise !== null) parts.push(`rises ${clockOf(tell(rise)!)}`);
  if (rise === null && set === null) parts.push('neither rises nor sets');
  if (set !== null) parts.push(`sets ${clockOf(tell(set)!)}`);
  return parts.join(', ');
}

function rounded(value: number, digits: number): number {
  return Number(value.toFixed(digits));
}

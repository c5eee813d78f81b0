import { printable } from '../../errors.js';
import type { Plan, PlanHour } from '../../model/plan.js';
import { compassWord } from '../../physics/ephemeris.js';
import { clockOf } from '../../physics/localTime.js';
import { PLAN_CAUTIONS } from '../cautions.js';
import { labelled } from '../labelled.js';
import { rest, type Look } from '../style.js';

/** The night to come, for a person: what matters first, then the hours as a chart of letters, the first settings, the cautions. */
export function planAsText(plan: Plan, width: number, look: Look): string {
  const { columns, lines, headline, put } = labelled(width, look);
  headline(plan.says);
  lines.push('');
  const { place, zone, moon, start } = plan;
  put(
    'where',
    `${place.latitudeDeg.toFixed(3)}, ${place.longitudeDeg.toFixed(3)}, evening of ${plan.date}, times of ${zone ?? 'UTC (no zone is known there)'}`,
  );
  put('Sun', sunInWords(plan));
  put('Moon', moon.says);
  if (plan.core.length > 0) {
    lines.push('');
    hours(plan.core, columns).forEach((line) => lines.push(rest(line, look)));
    lines.push('');
  }
  if (start !== null) {
    put(
      'start',
      `ISO ${String(start.iso)}, f/${String(start.aperture)}, ${String(start.shutterSeconds)} s (±${String(start.uncertaintyStops)} stop)`,
    );
    put('why', printable(start.why));
  }
  plan.lamps.forEach(({ says }, n) => {
    put(n === 0 ? 'lamps' : '', says);
  });
  put('safety', PLAN_CAUTIONS);
  return `${lines.join('\n')}\n`;
}

function sunInWords({ twilight, lowestSunDeg, core }: Plan): string {
  const named: readonly (readonly [string, string | null])[] = [
    ['sets', twilight.sunset],
    ['6° down', twilight.civilDusk],
    ['12° down', twilight.nauticalDusk],
    ['18° down, dark,', twilight.astronomicalDusk],
    ['dawn begins', twilight.astronomicalDawn],
    ['12° down', twilight.nauticalDawn],
    ['6° down', twilight.civilDawn],
    ['rises', twilight.sunrise],
  ];
  const known = named.flatMap(([what, at]) => (at === null ? [] : [`${what} ${clockOf(at)}`]));
  if (known.length > 0) return known.join(', ');
  return core.length === 0
    ? `stays up, ${lowestSunDeg.toFixed(0)}° at the lowest`
    : 'stays down, and crosses no twilight';
}

/** A line each half hour: clock, Sun, a bar as long as the core is high, direction, Moon. */
function hours(core: readonly PlanHour[], columns: number): string[] {
  const bar = Math.max(8, Math.min(30, columns - 50));
  const shown = core.filter(({ at }) => /:[03]0$/.test(clockOf(at)));
  const head = `${'clock'.padEnd(7)}${'sky'.padEnd(13)}${'core'.padEnd(bar + 18)}Moon`;
  return [
    head,
    ...shown.map((hour) => {
      const { at, sunAltitudeDeg, altitudeDeg, azimuthDeg, moonAltitudeDeg } = hour;
      const up = altitudeDeg > 0;
      const height = up ? `${altitudeDeg.toFixed(0)}° ${compassWord(azimuthDeg)}` : 'down';
      const length = up ? Math.max(1, Math.round((altitudeDeg / 90) * bar)) : 0;
      const moon = moonAltitudeDeg > 0 ? `${moonAltitudeDeg.toFixed(0)}° up` : 'down';
      return `${clockOf(at).padEnd(7)}${skyWord(sunAltitudeDeg, moonAltitudeDeg).padEnd(13)}${'='.repeat(length).padEnd(bar + 1)}${height.padEnd(17)}${moon}`;
    }),
  ];
}

function skyWord(sun: number, moon: number): string {
  if (sun > -6) return 'bright';
  if (sun > -12) return 'twilight';
  if (sun > -18) return 'nearly dark';
  return moon > 0 ? 'moonlit' : 'dark';
}

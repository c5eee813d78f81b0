import { InvalidArgumentError, type Command } from 'commander';
import type { BoxedLamp } from '../../pipeline/planLamps.js';
import { parseBoxed, type NamedLamp } from '../plan/boxedLamp.js';
import type { PlanOptions } from '../plan/runPlan.js';
import { between } from '../readingOptions.js';
import type { World } from '../world.js';

export function addPlanCommand(program: Command, world: World): void {
  const boxed =
    (option: string, kind: BoxedLamp['kind']) =>
    (text: string, before: readonly (BoxedLamp | NamedLamp)[]): readonly (BoxedLamp | NamedLamp)[] => [
      ...before,
      parseBoxed(option, kind, text),
    ];
  program
    .command('plan')
    .description('the night to come: twilights, Moon, the core, first camera and lamp settings')
    .option('--lat <degrees>', 'latitude (north positive)', between(-90, 90))
    .option('--lon <degrees>', 'longitude (east positive)', between(-180, 180))
    .option('--date <date>', 'evening of this date there, like 2026-07-14', calendarDate)
    .option('--tz <zone>', 'zone for the times, like Europe/Madrid or +02:00 (that of the place)')
    .option('--like <frame>', 'an earlier frame of your camera: its lens, its place, and how it took the sky')
    .option(
      '--sky <magnitude>',
      'dark moonless sky overhead there, magnitudes per square arcsecond (21.5)',
      between(15, 22.5),
    )
    .option('--ground <reflectance>', 'part of the light that the painted ground reflects (0.2)', between(0.02, 1))
    .option(
      '--torch <lamp>',
      'a held lamp from its box, like torch:120lm/60deg@6m or torch:beam90m@6m, or from your kit: torch@6m (repeatable)',
      boxed('--torch', 'held'),
      [],
    )
    .option(
      '--stand-lamp <lamp>',
      'a lamp on a stand, written likewise (repeatable)',
      boxed('--stand-lamp', 'stand'),
      [],
    )
    .option('--aperture <n>', 'f-number (2.8)', between(0.3, 64))
    .option('--focal <mm>', 'true focal length (14)', between(0.5, 500))
    .option('--pixel-pitch <um>', 'distance between pixels on the sensor, micrometres (6)', between(0.1, 100))
    .option('--target-sky <stops>', 'wished level of the sky, stops from clipping (-4)', between(-12, -0.5))
    .option('--target-balance <stops>', 'wished level of the paint over the sky, stops (1.5)', between(-6, 8))
    .option('--max-iso <n>', 'highest ISO to advise (6400)', between(50, 1e6))
    .option('--max-shutter <seconds>', 'longest shutter to advise (30)', between(1, 3600))
    .option('--trail-px <n>', 'star trail allowed, pixels, instead of the NPF rule', between(0.1, 10000))
    .option('--chart <file>', 'also draw the night (name it .png or .svg)')
    .option('--json', 'one JSON document')
    .option('--red', 'dim red only, for dark-adapted eyes')
    .action(async (options: PlanOptions) => {
      const { runPlan } = await import('../plan/runPlan.js');
      await runPlan(options, world);
    });
}

function calendarDate(text: string): string {
  const at = /^\d{4}-\d\d-\d\d$/.test(text) ? new Date(`${text}T00:00:00Z`) : null;
  const year = Number(text.slice(0, 4));
  if (at === null || Number.isNaN(at.getTime()) || at.toISOString().slice(0, 10) !== text || year < 1900 || year > 2100)
    throw new InvalidArgumentError('It must be a date from 1900 to 2100, like 2026-07-14.');
  return text;
}

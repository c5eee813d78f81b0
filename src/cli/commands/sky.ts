import { InvalidArgumentError, type Command } from 'commander';
import type { SkyOptions } from '../sky/runSky.js';
import { addDrawnSkyOptions } from '../drawnSky.js';
import { addReadingOptions, between, pngName } from '../readingOptions.js';
import type { World } from '../world.js';

export function addSkyCommand(program: Command, world: World): void {
  const command = program
    .command('sky')
    .description(
      'tell from its stars where a frame looks, how they must trail, and when the core stands over the subject',
    )
    .argument('<file>', 'JPEG, TIFF, PNG or camera raw frame')
    .option('--json', 'one JSON document')
    .option('--at <x,y>', 'the subject, as a pixel of the upright frame', pixel)
    .option('--over <what>', 'subject: the painted ground (this is what is done without --at)', subjectOnly)
    .option('--body <name>', 'also follow the moon, a planet or a bright star, like jupiter or Vega')
    .option('--lat <degrees>', 'latitude, where the frame does not tell (north positive)', between(-90, 90))
    .option('--lon <degrees>', 'longitude (east positive)', between(-180, 180))
    .option('--tz <zone>', "zone of the camera's clock, like Europe/Madrid or +02:00, where the frame does not tell")
    .option('--picture <file>', 'also draw the path and the longest shutter by place on the frame (PNG)', pngName)
    .option('--red', 'dim red only, for dark-adapted eyes');
  addDrawnSkyOptions(addReadingOptions(command)).action(async (file: string, options: SkyOptions) => {
    const { runSky } = await import('../sky/runSky.js');
    await runSky(file, options, world);
  });
}

function pixel(text: string): { x: number; y: number } {
  const parts = text.split(',').map((part) => (part.trim() === '' ? Number.NaN : Number(part)));
  if (parts.length !== 2 || parts.some((value) => !Number.isFinite(value) || value < 0))
    throw new InvalidArgumentError('It must be two numbers from 0, like 3000,2400.');
  return { x: parts[0]!, y: parts[1]! };
}

function subjectOnly(text: string): string {
  if (text !== 'subject') throw new InvalidArgumentError('It must be subject; give another place with --at X,Y.');
  return text;
}

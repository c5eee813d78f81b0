import type { Command } from 'commander';
import type { NightOptions } from '../night/runNight.js';
import { addReadingOptions, between, pngName, whole } from '../readingOptions.js';
import type { World } from '../world.js';

export function addNightCommand(program: Command, world: World): void {
  const command = program
    .command('night')
    .description('grade the frames of a whole night')
    .argument('<folder>', 'folder of the night; folders below it are looked through too')
    .option('--json', 'the graded night as JSON')
    .option('--csv <file>', 'also write a table, one line a frame')
    .option('--report <file>', 'also write one HTML page that needs no network')
    .option(
      '--preview <file>',
      'also draw the last frame of the night beside the next one as its advice foretells it (PNG)',
      pngName,
    )
    .option('--xmp', 'write ratings into sidecars beside the frames (what else they hold is kept)')
    .option('--dry-run', 'with --xmp: only say which sidecars would be written')
    .option('--lat <degrees>', 'latitude, where the frames do not tell (north positive)', between(-90, 90))
    .option('--lon <degrees>', 'longitude (east positive)', between(-180, 180))
    .option('--tz <zone>', "zone of the camera's clock, like Europe/Madrid or +02:00, where the frames do not tell")
    .option('--threads <n>', 'frames read at a time (all cores)', whole(1, 256))
    .option('--no-cache', 'read every frame anew, and keep nothing');
  addReadingOptions(command).action(async (folder: string, options: NightOptions) => {
    const { runNight } = await import('../night/runNight.js');
    await runNight(folder, options, world);
  });
}

import type { Command } from 'commander';
import { addReadingOptions, between, pngName } from '../readingOptions.js';
import type { WatchOptions } from '../watch/runWatch.js';
import type { World } from '../world.js';

export function addWatchCommand(program: Command, world: World): void {
  const command = program
    .command('watch')
    .description('wait for frames between tries and show the next change in large letters')
    .argument('<folder>', 'folder that frames arrive in: a tether target, a card, a synchronised folder')
    .option('--once', 'end after the first frame')
    .option('--json', 'a line of JSON a frame')
    .option('--bell', 'ring when an answer is there')
    .option('--no-red', "the terminal's own colours instead of dim red on black")
    .option('--poll', 'ask the folder for changes, where a network does not tell of them')
    .option(
      '--preview <file>',
      'after each answer, draw the frame and the next one as foretold (PNG, written anew each time)',
      pngName,
    )
    .option('--lat <degrees>', 'latitude, where the frames do not tell (north positive)', between(-90, 90))
    .option('--lon <degrees>', 'longitude (east positive)', between(-180, 180))
    .option('--tz <zone>', "zone of the camera's clock, like Europe/Madrid or +02:00, where the frames do not tell")
    .option('--fresh', 'begin a new evening: leave out the notes and tries of the last hours');
  addReadingOptions(command).action(async (folder: string, options: WatchOptions) => {
    // Other commands need not wait for what only this one uses.
    const { runWatch } = await import('../watch/runWatch.js');
    await runWatch(folder, options, world);
  });
}

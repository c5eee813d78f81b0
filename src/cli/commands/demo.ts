import type { Command } from 'commander';
import type { World } from '../world.js';

export function addDemoCommand(program: Command, world: World): void {
  program
    .command('demo')
    .description('shoot an invented night, read the frame, follow the advice, shoot again')
    .option('--red', 'dim red only, for dark-adapted eyes')
    .option('--pictures <folder>', 'also write the frames (DNG and JPEG) and what was found drawn on them (PNG)')
    .option(
      '--night <folder>',
      'instead write a whole night, 24 pairs of DNG and JPEG in three setups, for paintstop night',
    )
    .action(async (options: { red?: boolean; pictures?: string; night?: string }) => {
      const { runDemo, writeNight } = await import('../demo/runDemo.js');
      if (options.night !== undefined) await writeNight(options.night, world);
      else await runDemo(options.red === true, options.pictures ?? null, world);
    });
}

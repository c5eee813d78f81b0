import type { Command } from 'commander';
import { addDrawnSkyOptions } from '../drawnSky.js';
import { addReadingOptions } from '../readingOptions.js';
import type { WhyOptions } from '../why/runWhy.js';
import type { World } from '../world.js';

export function addWhyCommand(program: Command, world: World): void {
  const command = program
    .command('why')
    .description('the lesson of a frame: what went wrong, why, by how much, and what would have helped')
    .argument('<file>', 'JPEG, TIFF, PNG or camera raw frame')
    .option('--json', 'one JSON document')
    .option('--html <file>', 'also write one page that needs no network and prints on two sheets')
    .option('--with <folder>', 'other frames of its setup: lamps that can be told apart are spoken of one by one')
    .option('--red', 'dim red only, for dark-adapted eyes');
  addDrawnSkyOptions(addReadingOptions(command)).action(async (file: string, options: WhyOptions) => {
    const { runWhy } = await import('../why/runWhy.js');
    await runWhy(file, options, world);
  });
}

import type { Command } from 'commander';
import { skyNetworkApart } from '../../machine/skyNetworkApart.js';
import { addDrawnSkyOptions } from '../drawnSky.js';
import type { FrameOptions } from '../frame/runFrame.js';
import { addReadingOptions, pngName } from '../readingOptions.js';
import type { World } from '../world.js';

export function addFrameCommand(program: Command, world: World): void {
  const command = program
    .command('frame')
    .description('read frames and give the next settings')
    .argument('<files...>', 'JPEG, TIFF, PNG or camera raw frames')
    .option('--json', 'one JSON document a frame, a line each')
    .option('--masks <folder>', 'also write NAME.regions.png: 0 sky, 85 unlit, 170 painted, 255 source')
    .option('--picture <file>', 'also draw regions, clipped places and star shapes (PNG; one frame only)', pngName)
    .option(
      '--preview <file>',
      'also draw the last frame as it is and as the advice foretells it (PNG); tries of one setup, given together, tell its lamps apart',
      pngName,
    )
    .option('--red', 'dim red only, for dark-adapted eyes');
  addDrawnSkyOptions(addReadingOptions(command)).action(async (files: string[], options: FrameOptions) => {
    // The network loads in its thread while this one loads the rest; a fault is told where it is asked.
    const drawn = options.skyMask !== undefined || options.horizon !== undefined;
    if (options.segmenter !== 'classical' && !drawn) skyNetworkApart().catch(() => undefined);
    const { runFrame } = await import('../frame/runFrame.js');
    await runFrame(files, options, world);
  });
}

import type { Command } from 'commander';
import { parseHeld, parseStand } from '../lampOptions.js';
import { addDrawnSkyOptions } from '../drawnSky.js';
import { addReadingOptions, between, pngName } from '../readingOptions.js';
import type { WhatIfOptions } from '../why/runWhatIf.js';
import type { Light } from '../../model/reading.js';
import type { World } from '../world.js';

export function addWhatIfCommand(program: Command, world: World): void {
  const collect =
    (parse: (text: string) => Light) =>
    (text: string, before: readonly Light[]): readonly Light[] => [...before, parse(text)];
  const command = program
    .command('what-if')
    .description('what a frame would have been with other settings')
    .argument('<file>', 'JPEG, TIFF, PNG or camera raw frame')
    .option('--to-iso <n>', 'another ISO', between(1, 1e7))
    .option('--to-shutter <seconds>', 'another shutter time', between(1e-3, 86400))
    .option('--to-aperture <n>', 'another f-number', between(0.3, 200))
    .option(
      '--to-held <light>',
      'a held light as it would be used, like torch:1.5s@6m*0.5 (repeatable)',
      collect(parseHeld),
      [],
    )
    .option(
      '--to-stand <light>',
      'a stand lamp as it would be set, like back@12m*0.25 (repeatable)',
      collect(parseStand),
      [],
    )
    .option('--to-paint <factor>', 'all lamp light times this, where no lamp was noted', between(0.001, 1000))
    .option('--preview <file>', 'also draw the frame beside what it would have been (PNG)', pngName)
    .option('--json', 'one JSON document')
    .option('--red', 'dim red only, for dark-adapted eyes');
  addDrawnSkyOptions(addReadingOptions(command)).action(async (file: string, options: WhatIfOptions) => {
    const { runWhatIf } = await import('../why/runWhatIf.js');
    await runWhatIf(file, options, world);
  });
}

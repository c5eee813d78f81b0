import type { Command } from 'commander';
import { PaintstopError } from '../../errors.js';
import type { World } from '../world.js';

interface LightsOptions {
  readonly example?: boolean;
  readonly addNotes?: boolean;
  readonly kit?: boolean;
  readonly forget?: string;
}

export function addLightsCommand(program: Command, world: World): void {
  program
    .command('lights')
    .description('check the lamps of an evening, or take the notes of watch into them')
    .argument('[path]', 'a lights file, or the folder that has lights.yaml')
    .option('--example', 'print a lights file to begin with')
    .option('--add-notes', 'write what was noted while watching this folder into its lights.yaml; comments stay')
    .option('--kit', 'print how strong your lamps are, as frames lit by them have shown')
    .option('--forget <lamp>', 'take a lamp out of the kit')
    .action(async (path: string | undefined, options: LightsOptions) => {
      // Other commands need not wait for a reader of YAML.
      const { EXAMPLE, runKit, runLights } = await import('../lights/runLights.js');
      if (options.example === true) {
        world.out(EXAMPLE);
        return;
      }
      if (options.kit === true || options.forget !== undefined) {
        await runKit(options.forget ?? null, world);
        return;
      }
      if (path === undefined)
        throw new PaintstopError('wrong-use', 'paintstop lights needs a file or folder', 'or say --example');
      await runLights(path, options.addNotes === true, world);
    });
}

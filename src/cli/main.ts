import { join } from 'node:path';
import { Command, CommanderError } from 'commander';
import { PaintstopError, printable } from '../errors.js';
import { addDemoCommand } from './commands/demo.js';
import { addFrameCommand } from './commands/frame.js';
import { addPlanCommand } from './commands/plan.js';
import { addWhatIfCommand } from './commands/whatIf.js';
import { addWhyCommand } from './commands/why.js';
import { addSkyCommand } from './commands/sky.js';
import { addLightsCommand } from './commands/lights.js';
import { addNightCommand } from './commands/night.js';
import { addWatchCommand } from './commands/watch.js';
import { curvesAreForeign } from '../machine/curveStore.js';
import { kitIsForeign } from '../machine/kitStore.js';
import { configFolder } from '../machine/ownStore.js';
import { version } from './version.js';
import { processWorld, type World } from './world.js';

/** Arguments to exit status: 0 read, 1 nothing could be read, 2 wrong use. Never ends the process itself. */
export async function main(args: readonly string[]): Promise<number> {
  const world = processWorld();
  const program = new Command('paintstop')
    .description('Reads night landscapes lit by hand and gives the next camera and lamp settings.')
    .version(version())
    .exitOverride()
    .configureOutput({
      writeErr: (text) => {
        const lines = text.replace(/^error: /, 'paintstop: ').split('\n');
        process.stderr.write(lines.map(printable).join('\n'));
      },
    })
    .showHelpAfterError('See paintstop --help.');
  addFrameCommand(program, world);
  addNightCommand(program, world);
  addWatchCommand(program, world);
  addLightsCommand(program, world);
  addSkyCommand(program, world);
  addPlanCommand(program, world);
  addWhyCommand(program, world);
  addWhatIfCommand(program, world);
  addDemoCommand(program, world);
  program.commands.forEach((command) =>
    command.exitOverride().showHelpAfterError(`See paintstop ${command.name()} --help.`),
  );
  program.hook('preAction', () => noteForeignStores(world));
  try {
    if (args.length === 0) {
      program.outputHelp();
      return 2;
    }
    await program.parseAsync([...args], { from: 'user' });
    return world.exitStatus();
  } catch (cause) {
    if (cause instanceof CommanderError) return cause.exitCode === 0 ? 0 : 2;
    if (cause instanceof PaintstopError) {
      process.stderr.write(`paintstop: ${cause.message}\n`);
      return cause.exitStatus;
    }
    process.stderr.write(
      `paintstop: something went wrong that should not: ${printable(cause instanceof Error ? cause.message : String(cause))}\n`,
    );
    return 1;
  }
}

/** What was learned before and cannot be read now would be missed in silence. */
async function noteForeignStores(world: World): Promise<void> {
  const folder = configFolder();
  const note = (name: string, what: string): void => {
    world.note(`paintstop: ${join(folder, name)} cannot be read and was left alone, so ${what}; move it away.`);
  };
  if (await curvesAreForeign(folder)) note('curves.json', "no camera's curve is known or kept");
  if (await kitIsForeign(folder)) note('kit.json', 'no lamp is known or kept');
}

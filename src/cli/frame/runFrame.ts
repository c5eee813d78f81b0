import { basename, extname, join, resolve } from 'node:path';
import { PaintstopError, printable } from '../../errors.js';
import { refuseForeign, sameFile, writePng } from '../../machine/files.js';
import { keepLamps } from '../../machine/kitStore.js';
import { configFolder } from '../../machine/ownStore.js';
import { pairUp } from '../../machine/pairs.js';
import { advisedAgain } from '../../pipeline/answerFrame.js';
import { lampsLearned } from '../../pipeline/learnLamps.js';
import type { FrameResult } from '../../pipeline/readOneFrame.js';
import { displayOf } from '../../pipeline/recordFrame.js';
import { readingAsJson } from '../../present/json.js';
import { framePicture } from '../../present/picture/framePicture.js';
import { regionsPng } from '../../present/regionsPng.js';
import { readingAsText } from '../../present/terminal.js';
import type { DrawnSkyOptions } from '../drawnSky.js';
import { lampsOfFrames } from '../lampsOfFrames.js';
import { withRawBeside } from '../rawBesideNote.js';
import { wishesOf, type ReadingOptions } from '../readingOptions.js';
import { readTools } from '../readTools.js';
import { tryReader } from '../tryReader.js';
import type { World } from '../world.js';
import { writePreview } from '../writePreview.js';

export interface FrameOptions extends ReadingOptions, DrawnSkyOptions {
  readonly json?: boolean;
  readonly masks?: string;
  readonly picture?: string;
  readonly preview?: string;
  readonly red?: boolean;
}

export async function runFrame(given: readonly string[], options: FrameOptions, world: World): Promise<void> {
  const frames = await pairUp(given);
  const files = frames.map(({ file }) => file);
  const lampsOf = lampsOfFrames(options, world);
  if (options.picture !== undefined && files.length > 1)
    throw new PaintstopError('wrong-use', '--picture draws one frame only', 'give one frame, or leave --picture out');
  const outputs = plannedOutputs(files, options);
  const drawn = [options.picture, options.preview].filter((path) => path !== undefined);
  if (drawn.length === 2 && resolve(drawn[0]!) === resolve(drawn[1]!))
    throw new PaintstopError('wrong-use', '--picture and --preview name one file', 'give them two names');
  await refuseInputs(given, [...outputs.values(), ...drawn]);
  for (const path of drawn) await refuseForeign(path);
  let last: FrameResult | null = null;
  let read = 0;
  const reader = tryReader(options, await readTools(options), frames.length > 1 || options.preview !== undefined);
  const { tried } = reader;
  const waiting = [...frames];
  for (let n = 0; n < waiting.length; n++) {
    const frame = waiting[n]!;
    const { file } = frame;
    if (files.length > 1)
      world.progress(`reading ${String(n + 1)} of ${String(files.length)}: ${printable(basename(file))}`);
    try {
      const lamps = await lampsOf(file);
      const own = await reader.read(frame, lamps);
      // Earlier tries of the same setup, given with it, tell its lamps apart.
      const advised = tried.length > 1 ? advisedAgain(own, lamps, wishesOf(options), [], tried) : own.reading;
      const reading = await withRawBeside(advised, file, given);
      const result = { ...own, reading };
      reader.readAgain(reading);
      read++;
      await keepLamps(configFolder(), lampsLearned(reading));
      world.progress(null);
      world.out(
        options.json === true
          ? `${readingAsJson(result.reading)}\n`
          : `${n > 0 ? '\n' : ''}${readingAsText(result.reading, world.columns, world.look(options.red === true))}`,
      );
      await writeExtras(outputs.get(file), options, result, world);
      last = result;
    } catch (cause) {
      world.progress(null);
      if (!(cause instanceof PaintstopError)) throw cause;
      world.fail(cause);
      // A JPEG that was given beside a raw file that cannot be read is read by itself.
      if (frame.jpeg !== null && given.some((own) => join(own) === frame.jpeg))
        waiting.splice(n + 1, 0, { file: frame.jpeg, jpeg: null });
    }
  }
  if (options.preview !== undefined && last !== null)
    await writePreview(
      options.preview,
      { grid: last.grid, mask: last.regions.mask, display: displayOf(last.frame) },
      tried,
      world,
    );
  if (read === 0) world.setExit(1);
}

/** Where each frame's regions go; two frames that would write the same file are wrong use, before anything is read. */
function plannedOutputs(files: readonly string[], options: FrameOptions): Map<string, string> {
  const outputs = new Map<string, string>();
  if (options.masks === undefined) return outputs;
  const taken = new Map<string, string>();
  for (const file of new Set(files)) {
    const path = join(options.masks, `${basename(file, extname(file))}.regions.png`);
    const other = taken.get(path);
    if (other !== undefined)
      throw new PaintstopError(
        'wrong-use',
        `${printable(other)} and ${printable(file)} would both write ${printable(path)}`,
        'give them in two runs with two folders',
      );
    taken.set(path, file);
    outputs.set(file, path);
  }
  return outputs;
}

/** What is read is never written to, whatever it is called. */
async function refuseInputs(files: readonly string[], outputs: readonly string[]): Promise<void> {
  for (const output of outputs)
    for (const file of files)
      if (await sameFile(file, output))
        throw new PaintstopError(
          'wrong-use',
          `${printable(output)} is one of the frames to read`,
          'give another name for what is written',
        );
}

async function writeExtras(
  masks: string | undefined,
  options: FrameOptions,
  result: FrameResult,
  world: World,
): Promise<void> {
  const { reading, grid, regions, frame, shapes } = result;
  if (masks !== undefined) {
    await writePng(masks, regionsPng(regions.fineMask, frame.widthPx, frame.heightPx));
    world.note(`wrote ${printable(masks)}`);
  }
  if (options.picture !== undefined) {
    await writePng(options.picture, framePicture(reading, grid, regions, shapes));
    world.note(`wrote ${printable(options.picture)}`);
  }
}

import { configFolder, knownCurves } from '../machine/curveStore.js';
import { readBytes } from '../machine/files.js';
import { unpackRawApart } from '../machine/rawDecoder.js';
import type { Light } from '../model/reading.js';
import { readOneFrame, type FrameResult } from '../pipeline/readOneFrame.js';
import { lampsOfFrames } from './lampsOfFrames.js';
import { readOptionsOf, wishesOf, type ReadingOptions } from './readingOptions.js';
import type { World } from './world.js';

export interface FrameAndLamps {
  readonly result: FrameResult;
  readonly lamps: readonly Light[];
}

/** Reads single frames by the options of the command line, each with the lamps that it was shot by. */
export async function frameReader(
  options: ReadingOptions,
  world: World,
): Promise<(path: string) => Promise<FrameAndLamps>> {
  const tools = { unpackRaw: unpackRawApart, curves: await knownCurves(configFolder()) };
  const lampsOf = lampsOfFrames(options, world);
  return async (path) => {
    const lamps = await lampsOf(path);
    const bytes = await readBytes(path);
    return { lamps, result: await readOneFrame(bytes, path, readOptionsOf(options), lamps, wishesOf(options), tools) };
  };
}

import { readBytes } from '../machine/files.js';
import type { Light } from '../model/reading.js';
import { readOneFrame, type FrameResult } from '../pipeline/readOneFrame.js';
import { lampsOfFrames } from './lampsOfFrames.js';
import type { DrawnSkyOptions } from './drawnSky.js';
import { readTools } from './readTools.js';
import { readOptionsOf, wishesOf, type ReadingOptions } from './readingOptions.js';
import type { World } from './world.js';

export interface FrameAndLamps {
  readonly result: FrameResult;
  readonly lamps: readonly Light[];
}

/** Reads single frames by the options of the command line, each with the lamps that it was shot by. */
export async function frameReader(
  options: ReadingOptions & DrawnSkyOptions,
  world: World,
): Promise<(path: string) => Promise<FrameAndLamps>> {
  const tools = await readTools(options);
  const lampsOf = lampsOfFrames(options, world);
  return async (path) => {
    const lamps = await lampsOf(path);
    const bytes = await readBytes(path);
    return { lamps, result: await readOneFrame(bytes, path, readOptionsOf(options), lamps, wishesOf(options), tools) };
  };
}

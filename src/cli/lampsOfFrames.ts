import { dirname, join } from 'node:path';
import { PaintstopError, printable } from '../errors.js';
import type { LightsFile } from '../lamps/lightsFile.js';
import { readBytes } from '../machine/files.js';
import type { Light } from '../model/reading.js';
import { lightsOf, type ReadingOptions } from './readingOptions.js';
import type { World } from './world.js';

export const LIGHTS_NAME = 'lights.yaml';

/** The lights file of a folder; null when there is none. Throws when it cannot be read or understood. */
export async function lightsFileIn(folder: string): Promise<LightsFile | null> {
  try {
    return await readLightsFile(join(folder, LIGHTS_NAME));
  } catch (cause) {
    if (cause instanceof PaintstopError && cause.code === 'not-found') return null;
    throw cause;
  }
}

export async function readLightsFile(path: string): Promise<LightsFile> {
  const text = await lightsText(path);
  const { parseLights } = await yamlReader();
  return parseLights(text, path);
}

/** Loaded where there is a lights file to read. */
function yamlReader(): Promise<typeof import('../lamps/lightsFile.js')> {
  return import('../lamps/lightsFile.js');
}

/** The text of a lights file (UTF-8). */
export async function lightsText(path: string): Promise<string> {
  const bytes = await readBytes(path);
  if (bytes.length > 1_000_000) throw new PaintstopError('lights-file', `${path} is far too long for a lights file`);
  return Buffer.from(bytes).toString('utf8');
}

/** The lamps of the command line. They go before a file told beside them, which is said. */
export function lampsTold(options: ReadingOptions, world: World): readonly Light[] {
  const told = lightsOf(options);
  if (told.length > 0 && options.lights !== undefined)
    world.note(`The lamps are those of --held and --stand; ${printable(options.lights)} (--lights) is set aside.`);
  return told;
}

/**
 * The lamps of each frame: those of the command line, else of the file that was told, else of the lights file beside the frame. One beside
 * frames that is wrong is told once, and its frames are read without lamps.
 */
export function lampsOfFrames(options: ReadingOptions, world: World): (frame: string) => Promise<readonly Light[]> {
  const told = lampsTold(options, world);
  const files = new Map<string, Promise<LightsFile | null>>();
  const beside = async (folder: string): Promise<LightsFile | null> => {
    try {
      return await lightsFileIn(folder);
    } catch (cause) {
      if (!(cause instanceof PaintstopError)) throw cause;
      world.note(`paintstop: ${cause.message} Its frames are read without lamps.`);
      return null;
    }
  };
  return async (frame) => {
    if (told.length > 0) return told;
    const key = options.lights ?? dirname(frame);
    const file = files.get(key) ?? (options.lights === undefined ? beside(key) : readLightsFile(options.lights));
    files.set(key, file);
    const lights = await file;
    return lights === null ? [] : (await yamlReader()).lampsOfFrame(lights, frame);
  };
}

import { readdir } from 'node:fs/promises';
import { extname, join } from 'node:path';
import { PaintstopError } from '../errors.js';
import { isFrameEnding, pairUp, type FrameFile } from './pairs.js';

/** Pictures that this program draws itself. */
const OWN = /\.regions\.png$/i;

/** By its name a frame: a known ending, not hidden, not drawn by this program. */
export function isFrameName(name: string): boolean {
  return !name.startsWith('.') && isFrameEnding(extname(name)) && !OWN.test(name);
}

/** What lies below a folder. */
export interface Gathered {
  /** Raw and JPEG of one shot together, in the order of their paths. */
  readonly frames: readonly FrameFile[];
  /** Folders that may not be read. */
  readonly closed: readonly string[];
}

/** All frames below a folder. Hidden files and links are passed over. */
export async function gatherFrames(folder: string): Promise<Gathered> {
  const files: string[] = [];
  const closed: string[] = [];
  const visit = async (path: string, depth: number): Promise<void> => {
    const entries = await readdir(path, { withFileTypes: true });
    entries.sort((a, b) => (a.name < b.name ? -1 : 1));
    for (const entry of entries) {
      if (entry.name.startsWith('.')) continue;
      const below = join(path, entry.name);
      if (entry.isDirectory() && depth < 12)
        await visit(below, depth + 1).catch(() => {
          closed.push(below);
        });
      else if (entry.isFile() && isFrameName(entry.name)) files.push(below);
    }
  };
  try {
    await visit(folder, 0);
  } catch {
    throw new PaintstopError('not-found', `${folder} is no folder that can be read`, 'give the folder of a night');
  }
  return { frames: await pairUp(files), closed };
}

import { readdir } from 'node:fs/promises';
import { basename, dirname, extname, join } from 'node:path';

const JPEG = new Set(['.jpg', '.jpeg']);
const NO_RAW = new Set([...JPEG, '.tif', '.tiff', '.png']);

/** A frame to read: a file, and the JPEG of the same shot where the file is its raw. */
export interface FrameFile {
  readonly file: string;
  readonly jpeg: string | null;
}

/**
 * Raw and JPEG of one name in one folder are one shot. A JPEG that was given beside its raw file is read with it, not again; one that was
 * given alone is read alone.
 */
export async function pairUp(files: readonly string[]): Promise<FrameFile[]> {
  const found: FrameFile[] = [];
  for (const file of files) found.push({ file, jpeg: mayBeRaw(file) ? await jpegBeside(file) : null });
  const taken = new Set(found.map(({ jpeg }) => jpeg));
  return found.filter(({ file }) => ![...taken].some((jpeg) => jpeg !== null && samePath(jpeg, file)));
}

function mayBeRaw(file: string): boolean {
  return !NO_RAW.has(extname(file).toLowerCase());
}

async function jpegBeside(file: string): Promise<string | null> {
  const folder = dirname(file);
  const stem = basename(file, extname(file)).toLowerCase();
  const names = await readdir(folder).catch(() => []);
  const name = names
    .sort()
    .find((own) => JPEG.has(extname(own).toLowerCase()) && basename(own, extname(own)).toLowerCase() === stem);
  return name === undefined ? null : join(folder, name);
}

function samePath(one: string, other: string): boolean {
  return join(one) === join(other);
}

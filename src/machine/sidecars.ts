import { readFile, realpath, stat } from 'node:fs/promises';
import { basename, dirname, extname, join } from 'node:path';
import { PaintstopError } from '../errors.js';
import { replaceFile } from './files.js';

export interface Sidecar {
  readonly path: string;
  /** Its text now; null when there is none. */
  readonly text: string | null;
}

/** Both names are in use: NAME.xmp (Adobe XMP Specification 2005, page 36) and NAME.EXT.xmp. One that exists is taken; else the first. Throws where one is no file. */
export async function sidecarOf(frame: string): Promise<Sidecar> {
  const stem = join(dirname(frame), basename(frame, extname(frame)));
  for (const path of [`${stem}.xmp`, `${frame}.xmp`, `${stem}.XMP`, `${frame}.XMP`]) {
    const facts = await stat(path).catch(() => null);
    // A link stays a link: what it leads to is merged.
    if (facts?.isFile()) return { path: await realpath(path), text: await readFile(path, 'utf8') };
    if (facts !== null) throw new PaintstopError('cannot-write', `${path} is no file`, 'move it away');
  }
  return { path: `${stem}.xmp`, text: null };
}

/** In one step: temporary file beside it, then into place. The merged text holds all that was there before. */
export async function writeSidecar({ path, text: before }: Sidecar, text: string): Promise<void> {
  try {
    await replaceFile(path, text, async () => {
      const now = await readFile(path, 'utf8').catch(() => null);
      if (now !== before) throw new PaintstopError('cannot-write', `${path} changed in the meantime`, 'run it again');
    });
  } catch (cause) {
    if (cause instanceof PaintstopError) throw cause;
    throw new PaintstopError('cannot-write', `${path} cannot be written`);
  }
}

import { lstat, readFile, stat } from 'node:fs/promises';
import { basename, dirname, extname, join } from 'node:path';
import { PaintstopError } from '../errors.js';
import { replaceUsersFile } from './files.js';

export interface Sidecar {
  readonly path: string;
  /** Its text now; null when there is none. */
  readonly text: string | null;
}

/**
 * Both names are in use: NAME.xmp (Adobe XMP Specification 2005, page 36) and NAME.EXT.xmp. One that exists is taken; else the first, or the
 * second where `shared` says that another frame has the name too. Throws where one is no file, or no UTF-8.
 */
export async function sidecarOf(frame: string, shared = false): Promise<Sidecar> {
  const stem = join(dirname(frame), basename(frame, extname(frame)));
  const names = shared ? [frame] : [stem, frame];
  for (const path of names.flatMap((name) => [`${name}.xmp`, `${name}.XMP`])) {
    if ((await lstat(path).catch(() => null)) === null) continue;
    const facts = await stat(path).catch(() => null);
    if (facts?.isFile() === true) return { path, text: utf8Of(path, await readFile(path)) };
    const what = facts === null ? 'is a link that leads nowhere' : 'is no file';
    throw new PaintstopError('cannot-write', `${path} ${what} and was left alone`, 'move it away');
  }
  return { path: `${names[0]!}.xmp`, text: null };
}

/** Text that is read by the wrong letters would be written back damaged. */
function utf8Of(path: string, bytes: Uint8Array): string {
  const told = /^\s*<\?xml[^>]*encoding\s*=\s*["']([^"']+)/.exec(
    Buffer.from(bytes.subarray(0, 200)).toString('latin1'),
  )?.[1];
  try {
    if (told === undefined || /^(utf-?8|us-ascii)$/i.test(told))
      return new TextDecoder('utf-8', { fatal: true }).decode(bytes);
  } catch {
    // Told below.
  }
  throw new PaintstopError('cannot-write', `${path} is not written in UTF-8 and was left alone`, 'save it as UTF-8');
}

/** In one step: temporary file beside it, then into place. The merged text holds all that was there before. */
export async function writeSidecar({ path, text: before }: Sidecar, text: string): Promise<void> {
  await replaceUsersFile(path, text, async () => {
    const now = await readFile(path).then(
      (bytes) => new TextDecoder().decode(bytes),
      () => null,
    );
    if (now !== before) throw new PaintstopError('cannot-write', `${path} changed in the meantime`, 'run it again');
  });
}

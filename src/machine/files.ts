import { randomBytes } from 'node:crypto';
import { link, mkdir, open, readFile, rename, rm, stat, writeFile } from 'node:fs/promises';
import { basename, dirname, join } from 'node:path';
import { crc32 } from 'node:zlib';
import { PaintstopError } from '../errors.js';

/** The whole file, opened read-only. Throws from the catalogue. */
export async function readBytes(path: string): Promise<Uint8Array> {
  try {
    const facts = await stat(path);
    if (!facts.isFile()) throw new PaintstopError('not-a-file', `${path} is not a file`);
    return await readFile(path);
  } catch (cause) {
    throw readError(path, cause);
  }
}

function readError(path: string, cause: unknown): unknown {
  if (cause instanceof PaintstopError) return cause;
  const code = codeOf(cause);
  if (code === 'ENOENT' || code === 'ENOTDIR') return new PaintstopError('not-found', `${path} does not exist`);
  if (code === 'EACCES' || code === 'EPERM') return new PaintstopError('no-permission', `${path} may not be read`);
  return new PaintstopError('damaged', `${path} could not be read from the disk (${code ?? 'unknown fault'})`);
}

function codeOf(cause: unknown): string | undefined {
  return cause instanceof Error && 'code' in cause && typeof cause.code === 'string' ? cause.code : undefined;
}

/** Written into every PNG of ours; a file that has it may be replaced by a newer one. */
const MARK = 'Software\0paintstop';

/**
 * Writes a PNG in one step (temporary file beside it, then into place). A file that this program did not write is never
 * replaced: then, and where the folder cannot be written, throws `cannot-write`.
 */
export async function writePng(path: string, bytes: Buffer): Promise<void> {
  const folder = dirname(path);
  const temporary = join(folder, `.${basename(path)}.${randomBytes(6).toString('hex')}.part`);
  try {
    await mkdir(folder, { recursive: true });
    await writeFile(temporary, withMark(bytes), { flag: 'wx' });
    if (await isOurs(path)) await rename(temporary, path);
    else await link(temporary, path);
  } catch (cause) {
    const taken = codeOf(cause) === 'EEXIST';
    throw new PaintstopError(
      'cannot-write',
      taken
        ? `${path} exists and was not written by paintstop, so it was left alone`
        : `${path} cannot be written (${codeOf(cause) ?? 'unknown fault'})`,
    );
  } finally {
    await rm(temporary, { force: true });
  }
}

async function isOurs(path: string): Promise<boolean> {
  let file;
  try {
    file = await open(path, 'r');
  } catch {
    return false;
  }
  try {
    const head = Buffer.alloc(256);
    await file.read(head, 0, head.length, 0);
    return head.includes(MARK);
  } finally {
    await file.close();
  }
}

/** Puts a tEXt chunk (PNG third edition, 11.3.3.2) behind the header chunk, which ends at byte 33. */
function withMark(png: Buffer): Buffer {
  const text = Buffer.from(`tEXt${MARK}`, 'latin1');
  const chunk = Buffer.alloc(text.length + 8);
  chunk.writeUInt32BE(text.length - 4, 0);
  text.copy(chunk, 4);
  chunk.writeUInt32BE(crc32(text), text.length + 4);
  return Buffer.concat([png.subarray(0, 33), chunk, png.subarray(33)]);
}

import { createHash, randomBytes } from 'node:crypto';
import { constants, type Stats } from 'node:fs';
import {
  access,
  chmod,
  copyFile,
  link,
  lstat,
  mkdir,
  open,
  readdir,
  readFile,
  realpath,
  rename,
  rm,
  stat,
  writeFile,
} from 'node:fs/promises';
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

/** The first `most` bytes of a file, opened read-only. Throws from the catalogue. */
export async function readHead(path: string, most: number): Promise<Uint8Array> {
  try {
    const file = await open(path, 'r');
    try {
      const { buffer, bytesRead } = await file.read(Buffer.alloc(most), 0, most, 0);
      return buffer.subarray(0, bytesRead);
    } finally {
      await file.close();
    }
  } catch (cause) {
    throw readError(path, cause);
  }
}

/** A short name for these very bytes. */
export function contentMark(bytes: Uint8Array): string {
  return createHash('sha256').update(bytes).digest('hex').slice(0, 16);
}

function readError(path: string, cause: unknown): unknown {
  if (cause instanceof PaintstopError) return cause;
  const code = codeOf(cause);
  if (code === 'ENOENT' || code === 'ENOTDIR') return new PaintstopError('not-found', `${path} does not exist`);
  if (code === 'EACCES' || code === 'EPERM') return new PaintstopError('no-permission', `${path} may not be read`);
  if (code === 'ELOOP' || code === 'ENAMETOOLONG')
    return new PaintstopError('not-found', `${path} leads nowhere (${code})`);
  if (code === 'ERR_FS_FILE_TOO_LARGE') return new PaintstopError('too-large', `${path} is over two gigabytes`);
  return new PaintstopError('damaged', `${path} could not be read from the disk (${code ?? 'unknown fault'})`);
}

function codeOf(cause: unknown): string | undefined {
  return cause instanceof Error && 'code' in cause && typeof cause.code === 'string' ? cause.code : undefined;
}

/** Written into every PNG of ours; a file that has it may be replaced by a newer one. */
const MARK = 'Software\0paintstop';

/** A picture that this program drew. */
export function isMarkedPng(head: Buffer): boolean {
  return (
    head[0] === 0x89 &&
    head.toString('latin1', 1, 4) === 'PNG' &&
    head.toString('latin1', 37, 41 + MARK.length) === `tEXt${MARK}`
  );
}

/** A frame of the demo: a JPEG or DNG whose tags say so. */
export function isDemoFrame(head: Buffer): boolean {
  const picture = (head[0] === 0xff && head[1] === 0xd8) || head.toString('latin1', 0, 4) === 'II*\0';
  return picture && head.includes('paintstop demo');
}

/** An HTML page that this program wrote. */
export function isOwnPage(head: Buffer): boolean {
  return head.includes('content="paintstop"');
}

/** A PNG of ours, marked as such. See writeOwn. */
export async function writePng(path: string, bytes: Buffer): Promise<void> {
  await writeOwn(path, withMark(bytes), isMarkedPng);
}

/**
 * Writes in one step (temporary file beside it, then into place). A file that this program did not write is never replaced: then, and
 * where the folder cannot be written, throws `cannot-write`.
 */
export async function writeOwn(path: string, bytes: Buffer, isMarked: (head: Buffer) => boolean): Promise<void> {
  const folder = dirname(path);
  try {
    await makeFolder(folder);
    await viaTemporary(path, bytes, async (temporary) => {
      if (await isOurs(path, isMarked)) await rename(temporary, path);
      else await placeNew(temporary, path);
    });
  } catch (cause) {
    if (codeOf(cause) === 'EEXIST' && (await exists(path))) throw taken(path);
    throw new PaintstopError('cannot-write', `${path} cannot be written (${codeOf(cause) ?? 'unknown fault'})`);
  }
}

/**
 * The folder and those above it. Step by step: where a folder cannot hold another (/proc), the recursive mkdir of Node 20 never returns.
 * Throws what the system says.
 */
export async function makeFolder(path: string): Promise<void> {
  if (await isFolder(path)) return;
  const above = dirname(path);
  if (above !== path) await makeFolder(above);
  await mkdir(path).catch(async (cause: unknown) => {
    // Another process may have been quicker.
    if (codeOf(cause) !== 'EEXIST' || !(await isFolder(path))) throw cause;
  });
}

/** Throws `cannot-write` where writeOwn would find a file that this program did not write: told before frames are read, it costs no wait. */
export async function refuseForeign(path: string, isMarked = isMarkedPng): Promise<void> {
  if ((await exists(path)) && !(await isOurs(path, isMarked))) throw taken(path);
}

function taken(path: string): PaintstopError {
  return new PaintstopError('cannot-write', `${path} exists and was not written by paintstop, so it was left alone`);
}

/**
 * Puts a file of our own in place in one step: temporary file beside it, `confirm` (may throw), then into place. A reader finds the old
 * file or the new one, never a part.
 */
export async function replaceFile(path: string, bytes: string | Buffer, confirm?: () => Promise<void>): Promise<void> {
  await viaTemporary(path, bytes, async (temporary) => {
    await confirm?.();
    await rename(temporary, path);
  });
}

/**
 * The same for a file that is the user's: where a link leads, with the rights that it has. Throws `cannot-write` for one that is marked
 * read-only, for a link that leads nowhere, and where the folder cannot be written.
 */
export async function replaceUsersFile(path: string, text: string, confirm?: () => Promise<void>): Promise<void> {
  const facts = await refuseReadOnly(path);
  try {
    const real = facts === null ? path : await realpath(path);
    await viaTemporary(real, text, async (temporary) => {
      if (facts !== null) await chmod(temporary, facts.mode & 0o777);
      await confirm?.();
      await rename(temporary, real);
    });
  } catch (cause) {
    if (cause instanceof PaintstopError) throw cause;
    throw new PaintstopError('cannot-write', `${path} cannot be written (${codeOf(cause) ?? 'unknown fault'})`);
  }
}

/** Throws `cannot-write` where replaceUsersFile would; else what is known of the file, null where there is none. */
export async function refuseReadOnly(path: string): Promise<Stats | null> {
  const facts = await stat(path).catch(() => null);
  if (facts === null && (await exists(path)))
    throw new PaintstopError(
      'cannot-write',
      `${path} is a link that leads nowhere and was left alone`,
      'mend the link',
    );
  if (facts !== null && (facts.mode & 0o222) === 0)
    throw new PaintstopError('cannot-write', `${path} is read-only and was left alone`, 'allow it to be written');
  const folder = dirname(facts === null ? path : await realpath(path));
  await access(folder, constants.W_OK).catch((cause: unknown) => {
    throw new PaintstopError('cannot-write', `${path} cannot be written (${codeOf(cause) ?? 'unknown fault'})`);
  });
  return facts;
}

/** Name of a temporary file beside the one that it becomes, as far as it is told by that one. */
function stemOfPart(path: string): string {
  return `.${basename(path).slice(0, 60)}.`;
}

/** What follows the stem. */
const PART_ENDING = /^[0-9a-f]{12}\.part$/;
/** Another run may be writing at this moment. */
const LEFT_FOR_MS = 60_000;

/** Takes away temporary files that killed runs have left beside these files. */
export async function sweepParts(paths: readonly string[]): Promise<void> {
  const stems = new Map<string, Set<string>>();
  for (const path of paths) stems.set(dirname(path), (stems.get(dirname(path)) ?? new Set()).add(stemOfPart(path)));
  for (const [folder, own] of stems)
    for (const name of await readdir(folder).catch((): string[] => [])) {
      const cut = name.lastIndexOf('.', name.length - '.part'.length - 1) + 1;
      if (!own.has(name.slice(0, cut)) || !PART_ENDING.test(name.slice(cut))) continue;
      const left = join(folder, name);
      const facts = await lstat(left).catch(() => null);
      if (facts?.isFile() === true && Date.now() - facts.mtimeMs > LEFT_FOR_MS) await rm(left, { force: true });
    }
}

/** Writes a temporary file beside `path` and lets `place` bring it there; what is left of it goes. */
async function viaTemporary(
  path: string,
  bytes: string | Buffer,
  place: (temporary: string) => Promise<void>,
): Promise<void> {
  const temporary = join(dirname(path), `${stemOfPart(path)}${randomBytes(6).toString('hex')}.part`);
  try {
    await writeFile(temporary, bytes, { flag: 'wx' });
    await place(temporary);
  } finally {
    await rm(temporary, { force: true }).catch(() => undefined);
  }
}

async function isFolder(path: string): Promise<boolean> {
  return stat(path).then(
    (facts) => facts.isDirectory(),
    () => false,
  );
}

/** Into place without replacing anything; where the file system has no links (cards), by an exclusive copy. */
async function placeNew(temporary: string, path: string): Promise<void> {
  try {
    await link(temporary, path);
  } catch (cause) {
    if (!['EPERM', 'ENOTSUP', 'EOPNOTSUPP', 'ENOSYS', 'EMLINK'].includes(codeOf(cause) ?? '')) throw cause;
    await copyFile(temporary, path, constants.COPYFILE_EXCL);
  }
}

/** Both paths lead to one file (through links too). */
export async function sameFile(one: string, other: string): Promise<boolean> {
  try {
    const [a, b] = [await stat(one), await stat(other)];
    return a.dev === b.dev && a.ino === b.ino;
  } catch {
    return false;
  }
}

async function exists(path: string): Promise<boolean> {
  return lstat(path).then(
    (facts) => !facts.isDirectory(),
    () => false,
  );
}

/** A link is never ours: what it points to may be anything. */
async function isOurs(path: string, isMarked: (head: Buffer) => boolean): Promise<boolean> {
  let file;
  try {
    if (!(await lstat(path)).isFile()) return false;
    file = await open(path, 'r');
  } catch {
    return false;
  }
  try {
    const head = Buffer.alloc(2048);
    await file.read(head, 0, head.length, 0);
    return isMarked(head);
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

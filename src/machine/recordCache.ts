import { createHash } from 'node:crypto';
import { readFile } from 'node:fs/promises';
import { homedir, platform } from 'node:os';
import { dirname, join } from 'node:path';
import { gunzipSync, gzipSync } from 'node:zlib';
import type { FrameRecord } from '../model/night.js';
import type { CurveRecord } from '../pipeline/cameraCurve.js';
import { makeFolder, replaceFile } from './files.js';

/** The operating system's folder for what can be made again (XDG Base Directory 0.8; the customs of macOS and Windows). */
export function cacheFolder(environment: NodeJS.ProcessEnv = process.env): string {
  const own = environment['XDG_CACHE_HOME'];
  if (own) return join(own, 'paintstop');
  if (platform() === 'darwin') return join(homedir(), 'Library', 'Caches', 'paintstop');
  const windows = environment['LOCALAPPDATA'];
  return windows ? join(windows, 'paintstop', 'cache') : join(homedir(), '.cache', 'paintstop');
}

/** Name of a record: content of the frame (and of its JPEG), the program's version, and all that decides the reading. */
export function recordKey(contents: readonly Uint8Array[], decides: string): string {
  const hash = createHash('sha256').update(decides);
  for (const bytes of contents) hash.update(`\0${String(bytes.length)}\0`).update(bytes);
  return hash.digest('hex').slice(0, 40);
}

function pathOf(folder: string, key: string): string {
  return join(folder, 'frames', key.slice(0, 2), `${key}.json.gz`);
}

/** What is kept of a frame: its record, and the camera's curve where it was a pair. */
export interface Kept {
  readonly record: FrameRecord;
  readonly curve: CurveRecord | null;
}

/** What a reading has, whatever was found. */
const PARTS = ['settings', 'encoding', 'regions', 'clips', 'stars', 'balance', 'lights', 'advice', 'warnings'];

/** A frame's record with all its parts: what was written by this program, and not cut or changed since. */
export function isFrameRecord(value: unknown): value is FrameRecord {
  const record = value as Partial<FrameRecord> | null | undefined;
  const reading = record?.reading;
  return (
    reading?.schema === 'paintstop.frame/1' &&
    PARTS.every((part) => part in reading) &&
    Array.isArray(record?.glance?.light)
  );
}

/** Null where nothing whole is stored. */
export async function storedRecord(folder: string, key: string): Promise<Kept | null> {
  try {
    const kept = JSON.parse(gunzipSync(await readFile(pathOf(folder, key))).toString('utf8')) as Partial<Kept>;
    return isFrameRecord(kept.record) ? { record: kept.record, curve: kept.curve ?? null } : null;
  } catch {
    return null;
  }
}

/** Written beside, then moved into place: a reader finds all of it or nothing. A cache that cannot be written is no failure. */
export async function storeRecord(folder: string, key: string, kept: Kept): Promise<void> {
  const path = pathOf(folder, key);
  try {
    await makeFolder(dirname(path));
    await replaceFile(path, gzipSync(JSON.stringify(kept), { level: 4 }));
  } catch {
    // Without it the next run reads the frame anew.
  }
}

import { readFile, stat } from 'node:fs/promises';
import { homedir } from 'node:os';
import { join } from 'node:path';
import { makeFolder, replaceFile } from './files.js';

/** The user's folder for settings (XDG Base Directory 0.8; %APPDATA% where there is one). */
export function configFolder(environment: NodeJS.ProcessEnv = process.env): string {
  const base = environment['XDG_CONFIG_HOME'] || environment['APPDATA'] || join(homedir(), '.config');
  return join(base, 'paintstop');
}

/** A list that is kept in the user's folder for settings, in a file of our own. */
export interface OwnStore<T> {
  readonly name: string;
  readonly schema: string;
  /** The key of the list in the file. */
  readonly key: string;
  readonly holds: (value: unknown) => value is T;
}

/** Null when there is no file of ours that can be read. */
export async function readStore<T>(folder: string, { name, schema, key, holds }: OwnStore<T>): Promise<T[] | null> {
  try {
    const path = join(folder, name);
    if (!(await stat(path)).isFile()) return null;
    const stored = JSON.parse(await readFile(path, 'utf8')) as Record<string, unknown>;
    const list = stored[key];
    return stored['schema'] === schema && Array.isArray(list) ? list.filter(holds) : null;
  } catch {
    return null;
  }
}

/** There is something of that name, and it is damaged or not ours. */
export async function isForeign<T>(folder: string, store: OwnStore<T>): Promise<boolean> {
  return (await readStore(folder, store)) === null && (await stat(join(folder, store.name)).catch(() => null)) !== null;
}

/**
 * Writes the list anew. What is kept only makes later answers better, so a folder that cannot be written is no failure; a file of that
 * name that is not ours is left alone.
 */
export async function writeStore<T>(folder: string, store: OwnStore<T>, list: readonly T[]): Promise<void> {
  const path = join(folder, store.name);
  if (await isForeign(folder, store)) return;
  try {
    await makeFolder(folder);
    await replaceFile(path, JSON.stringify({ schema: store.schema, [store.key]: list }));
  } catch {
    // The next answer is a little rougher, and says so.
  }
}

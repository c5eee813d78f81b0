import type { Stats } from 'node:fs';
import { stat } from 'node:fs/promises';
import { basename } from 'node:path';
import { watch, type FSWatcher } from 'chokidar';
import { isFrameName } from './gather.js';

export interface FolderEvents {
  /** A frame's file is there, or has changed, and has not grown for a moment. `found`: by the look through the folder at its opening. */
  seen(path: string, facts: { readonly size: number; readonly mtimeMs: number }, found: boolean): void;
  gone(path: string): void;
  /** The look through the folder has ended. */
  lookedThrough(): void;
  /** The folder went away (a card pulled out) or is there again. */
  present(isThere: boolean): void;
}

/** A file that has kept its size this long may be read; what is read is checked to be whole. */
const SETTLED_MS = 300;
const LOOK_EVERY_MS = 100;

/** How often it is seen to whether the folder is still the same one. */
const PRESENCE_MS = 1000;

/**
 * Watches a folder and those below it. When the folder goes and comes back (another card, a mount) it is looked through again.
 * `poll`: ask for changes instead of waiting to be told, for network folders.
 */
export async function watchFolder(
  folder: string,
  poll: boolean,
  events: FolderEvents,
): Promise<{ close(): Promise<void> }> {
  let watcher: FSWatcher | null = null;
  let mark = await markOf(folder);
  let closed = false;

  const open = (): void => {
    let looking = true;
    const own = watch(folder, {
      awaitWriteFinish: { stabilityThreshold: SETTLED_MS, pollInterval: LOOK_EVERY_MS },
      ignored: (path, facts) => path !== folder && isIgnored(path, facts),
      followSymlinks: false,
      depth: 12,
      alwaysStat: true,
      usePolling: poll,
      interval: 500,
      ignorePermissionErrors: true,
    });
    const seen = (path: string, facts: Stats | undefined): void => {
      if (facts !== undefined && facts.isFile())
        events.seen(path, { size: facts.size, mtimeMs: facts.mtimeMs }, looking);
    };
    own.on('add', seen);
    own.on('change', seen);
    own.on('unlink', (path) => {
      events.gone(path);
    });
    own.on('ready', () => {
      looking = false;
      events.lookedThrough();
    });
    // A card that is pulled out while it is read gives errors; the look at its presence tells.
    own.on('error', () => undefined);
    watcher = own;
  };

  const shut = async (): Promise<void> => {
    await watcher?.close().catch(() => undefined);
    watcher = null;
  };

  const look = async (): Promise<void> => {
    const now = await markOf(folder);
    if (closed || now === mark) return;
    const was = mark;
    mark = now;
    await shut();
    if (was !== null) events.present(false);
    if (now === null) return;
    events.present(true);
    open();
  };

  open();
  let looking = false;
  const timer = setInterval(() => {
    if (looking) return;
    looking = true;
    void look().finally(() => (looking = false));
  }, PRESENCE_MS);
  return {
    close: async () => {
      closed = true;
      clearInterval(timer);
      await shut();
    },
  };
}

function isIgnored(path: string, facts: Stats | undefined): boolean {
  const name = basename(path);
  if (name.startsWith('.')) return true;
  return facts !== undefined && !facts.isDirectory() && !(facts.isFile() && isFrameName(name));
}

/** Which folder this is; null when there is none. */
async function markOf(folder: string): Promise<string | null> {
  try {
    const facts = await stat(folder);
    return facts.isDirectory() ? `${String(facts.dev)}/${String(facts.ino)}` : null;
  } catch {
    return null;
  }
}

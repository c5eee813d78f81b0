import { existsSync } from 'node:fs';
import { join } from 'node:path';

/** Real files that tests read but the project does not carry; null where the folder is absent. */
export function sharedFile(...parts: string[]): string | null {
  const path = join(import.meta.dirname, '..', '..', '..', 'shared', ...parts);
  return existsSync(path) ? path : null;
}

export const SHARED_ABSENT = 'skipped: the folder of real files (../shared) is not there';

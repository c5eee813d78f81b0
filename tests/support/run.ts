import { spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';

export const ROOT = join(import.meta.dirname, '..', '..');

export interface Ran {
  readonly status: number | null;
  readonly out: string;
  readonly err: string;
}

/** Runs the built program as a user would, one whose settings folder is empty unless the test names another. */
export function paintstop(args: readonly string[], environment: Record<string, string> = {}): Ran {
  const inherited = Object.fromEntries(Object.entries(process.env).filter(([name]) => name !== 'NO_COLOR'));
  const config = mkdtempSync(join(tmpdir(), 'paintstop-config-'));
  try {
    const ran = spawnSync(process.execPath, [join(ROOT, 'bin', 'paintstop.js'), ...args], {
      encoding: 'utf8',
      env: { ...inherited, XDG_CONFIG_HOME: config, ...environment },
      timeout: 180_000,
      maxBuffer: 1 << 28,
    });
    return { status: ran.status, out: ran.stdout, err: ran.stderr };
  } finally {
    rmSync(config, { recursive: true, force: true });
  }
}

import { spawn, type ChildProcess } from 'node:child_process';
import { join } from 'node:path';
import type { Option, Reading } from '../../src/model/reading.js';
import type { SincePrevious } from '../../src/model/night.js';
import { ROOT } from './run.js';

export type Arrival = Reading & {
  readonly arrivedAt: string;
  readonly predicted: Option['predicted'] | null;
  readonly sincePrevious: SincePrevious | null;
};

/** `paintstop watch --json` at work. */
export class Watching {
  readonly arrivals: Arrival[] = [];
  said = '';
  private readonly child: ChildProcess;
  private rest = '';
  readonly ended: Promise<number | null>;

  constructor(folder: string, home: string, args: readonly string[] = []) {
    this.child = spawn(process.execPath, [join(ROOT, 'bin', 'paintstop.js'), 'watch', folder, '--json', ...args], {
      env: { ...process.env, XDG_STATE_HOME: home, XDG_CACHE_HOME: join(home, 'cache'), XDG_CONFIG_HOME: home },
    });
    this.child.stdout!.setEncoding('utf8').on('data', (text: string) => {
      const lines = (this.rest + text).split('\n');
      this.rest = lines.pop()!;
      this.arrivals.push(...lines.map((line) => JSON.parse(line) as Arrival));
    });
    this.child.stderr!.setEncoding('utf8').on('data', (text: string) => {
      this.said += text;
    });
    this.ended = new Promise((resolve) => this.child.once('close', resolve));
  }

  type(line: string): void {
    this.child.stdin!.write(`${line}\n`);
  }

  kill(signal: NodeJS.Signals): void {
    this.child.kill(signal);
  }

  async ready(): Promise<void> {
    await until(() => this.said.includes('watching'));
  }

  async answers(count: number): Promise<void> {
    await until(() => this.arrivals.length >= count);
  }
}

export async function until(holds: () => boolean, mostMs = 60_000): Promise<void> {
  const started = Date.now();
  while (!holds()) {
    if (Date.now() - started > mostMs) throw new Error('waited too long');
    await pause(25);
  }
}

export function pause(ms: number): Promise<void> {
  return new Promise((resolve) => setTimeout(resolve, ms));
}

import { execFileSync, spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { demoScene } from '../../src/scene/demoNight.js';
import { encodeShot } from '../../src/scene/encode.js';
import { openScene } from '../../src/scene/shoot.js';
import { has } from '../support/raw.js';
import { ROOT } from '../support/run.js';
import { pause } from '../support/watching.js';

const SOCKET = `paintstop-test-${String(process.pid)}`;
let room: string;
let folder: string;

function tmux(...args: string[]): string {
  return execFileSync('tmux', ['-L', SOCKET, ...args], { encoding: 'utf8' });
}

const screen = (): string => tmux('capture-pane', '-p');

async function shows(pattern: RegExp, mostMs = 20_000): Promise<string> {
  const started = Date.now();
  for (;;) {
    const text = screen();
    if (pattern.test(text)) return text;
    if (Date.now() - started > mostMs) throw new Error(`${String(pattern)} never came:\n${text}`);
    await pause(100);
  }
}

/** A real terminal (tmux, Debian) of 80 x 24, typed in and read. */
describe.skipIf(!has('tmux'))('the screen of watch', () => {
  beforeAll(() => {
    room = mkdtempSync(join(tmpdir(), 'paintstop-screen-'));
    folder = mkdtempSync(join(room, 'in-'));
    const program = `"${process.execPath}" "${join(ROOT, 'bin', 'paintstop.js')}"`;
    const home = `XDG_STATE_HOME="${room}/s" XDG_CACHE_HOME="${room}/c" XDG_CONFIG_HOME="${room}/k" LC_ALL=C.UTF-8`;
    tmux('new-session', '-d', '-x', '80', '-y', '24', 'sh');
    tmux(
      'send-keys',
      `${home} ${program} watch "${folder}" --held torch:3s@6m --stand back@12m*0.5; echo ended $?`,
      'Enter',
    );
  });

  afterAll(() => {
    spawnSync('tmux', ['-L', SOCKET, 'kill-server']);
    rmSync(room, { recursive: true, force: true });
  });

  it('shows the change, takes notes, follows the size, and leaves the terminal as it was', async () => {
    const waiting = await shows(/Waiting for a frame/);
    expect(waiting).toMatch(/someone knows where you\s+are/);
    expect(waiting).toMatch(/torch 3 s 6 m \(assumed\)/);

    const spec = demoScene(972);
    const scene = openScene(spec);
    const shoot = async (n: number, iso: number): Promise<void> => {
      const shot = scene.shoot({ ...spec.settings, iso }, spec.lamps, n);
      writeFileSync(
        join(folder, `moor-${String(n)}.jpg`),
        await encodeShot(shot, 'jpeg', undefined, `2026:07:14 23:1${String(n)}:00`),
      );
    };
    await shoot(1, 1600);
    const first = await shows(/^moor-1\.jpg/m);
    // Large letters, one line a measure with its gauge, the walk announced, 24 lines of at most 80.
    expect(first).toMatch(/█{2,} .*█{2,}/);
    for (const name of ['sky', 'paint', 'balance', 'clipped', 'stars'])
      expect(first).toMatch(new RegExp(`^${name} +.*[│◆]`, 'm'));
    expect(first).toMatch(/ONE WALK: back\. Headlamp on/);
    expect(first.split('\n').every((line) => line.length <= 80)).toBe(true);

    tmux('send-keys', 'back hzlf', 'Enter');
    await shows(/hzlf is not understood/);
    tmux(
      'send-keys',
      'bxck 17m',
      'BSpace',
      'BSpace',
      'BSpace',
      'BSpace',
      'BSpace',
      'BSpace',
      'BSpace',
      'ack 17m',
      'Enter',
    );
    await shows(/noted, from the next frame on: back 17 m 50 %/);
    tmux('send-keys', 'undo', 'Enter');
    await shows(/taken back/);
    tmux('send-keys', 'was torch 2', 'Enter');
    await shows(/this one: torch 2 s 6 m, back 12 m 50 % \(assumed\)/);
    tmux('send-keys', 'help', 'Enter');
    await shows(/takes back the last note/);

    await shoot(2, 3200);
    await shows(/^moor-2\.jpg/m);
    // On a low screen the strip of tries goes first when the advice is long.
    tmux('resize-window', '-x', '80', '-y', '34');
    await shows(/moor-1 .* moor-2 /);

    tmux('resize-window', '-x', '50', '-y', '16');
    await pause(500);
    const small = screen();
    expect(small).toContain('moor-2.jpg');
    expect(small.trimEnd().split('\n').at(-1)).toMatch(/^> _/);
    tmux('resize-window', '-x', '120', '-y', '40');
    await shows(/balance off by/);

    // Only dim red on black: no other colour is ever set (the codes that tmux shows again).
    const colours = new Set(
      Array.from(tmux('capture-pane', '-p', '-e').matchAll(/\u001b\[([\d;]*)m/g), ([, code]) => code),
    );
    for (const code of colours)
      expect(code).toMatch(/^(0|39|49|39;49|(0;)?(38;5;(88|124)|48;5;16)(;(38;5;(88|124)|48;5;16))?)?$/);

    tmux('send-keys', 'quit', 'Enter');
    const left = await shows(/ended 0/);
    expect(left).toContain('2 frames of this evening');
  });
});

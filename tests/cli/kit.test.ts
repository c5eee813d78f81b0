import { execFileSync } from 'node:child_process';
import { existsSync, mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { encodeShot } from '../../src/scene/encode.js';
import { paintstop, type Ran } from '../support/run.js';
import { shoot, smallScene } from '../support/scenes.js';

let folder: string;
let frame: string;
const run = (...args: string[]): Ran => paintstop(args, { XDG_CONFIG_HOME: join(folder, 'config') });
const PLACE = ['--lat', '38', '--lon', '-3', '--date', '2026-07-14'];

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'paintstop-'));
  frame = join(folder, 'moor.jpg');
  const spec = smallScene(38, { skyStops: -5 });
  const lamps = spec.lamps.filter(({ kind }) => kind === 'held');
  writeFileSync(frame, await encodeShot(shoot({ ...spec, lamps }), 'jpeg'));
});
afterAll(() => {
  rmSync(folder, { recursive: true, force: true });
});

describe('the kit', () => {
  it('learns a lamp from a frame lit by it alone, plans with it, and forgets it', () => {
    const unknown = run('plan', ...PLACE, '--torch', 'torch@6m');
    expect(unknown.status).toBe(2);
    expect(unknown.err).toContain('has not been learned yet');
    expect(run('lights', '--kit').out).toContain('The kit is empty');

    expect(run('frame', frame, '--held', 'torch:3s@6m').status).toBe(0);
    expect(run('frame', frame, '--held', 'torch:3s@6m').status).toBe(0);
    expect(run('lights', '--kit').out).toMatch(
      /^held {2}torch: [\d.]+ cd at full power, give or take [\d.]+ stop \(one frame\)\n$/,
    );

    const planned = run('plan', ...PLACE, '--torch', 'torch@6m');
    expect(planned.status).toBe(0);
    expect(planned.out).toMatch(/torch at 6 m/);

    expect(run('lights', '--forget', 'lantern').status).toBe(2);
    expect(run('lights', '--forget', 'torch').out).toContain('The kit is empty');
  });

  it('leaves a file of that name that is not ours alone', () => {
    const own = join(folder, 'config', 'paintstop', 'kit.json');
    mkdirSync(join(folder, 'config', 'paintstop'), { recursive: true });
    writeFileSync(own, 'my tent, my stove\n');
    expect(run('frame', frame, '--held', 'torch:3s@6m').status).toBe(0);
    expect(readFileSync(own, 'utf8')).toBe('my tent, my stove\n');
    expect(existsSync(`${own}.tmp`)).toBe(false);
  });

  it('figures that no lamp has are none, and a pipe in the place of a store does not hang', () => {
    const store = join(folder, 'config', 'paintstop');
    mkdirSync(store, { recursive: true });
    const samples = [{ mark: 'x', candela: 1e308, spreadStops: 1e300 }];
    const lamps = [{ name: 'torch', kind: 'held', samples }];
    writeFileSync(join(store, 'kit.json'), JSON.stringify({ schema: 'paintstop.kit/1', lamps }));
    expect(run('lights', '--kit').out).toContain('The kit is empty');
    for (const name of ['kit.json', 'curves.json']) {
      rmSync(join(store, name), { force: true });
      execFileSync('mkfifo', [join(store, name)]);
    }
    const ran = run('frame', frame, '--held', 'torch:3s@6m');
    expect(ran.status).toBe(0);
    expect(ran.err).toContain('kit.json cannot be read and was left alone');
  });

  it('a lamp used for no time, or at no distance, is refused', () => {
    for (const lamp of ['torch:0.0001s@6m', 'torch:3s@0.01m'])
      expect(run('frame', frame, '--held', lamp).err).toContain('too small');
  });
});

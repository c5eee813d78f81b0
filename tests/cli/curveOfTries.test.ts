import { copyFileSync, mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { Reading } from '../../src/model/reading.js';
import { applyAdvice } from '../../src/scene/applyAdvice.js';
import { encodeShot } from '../../src/scene/encode.js';
import { randomScene } from '../../src/scene/randomScene.js';
import { openScene } from '../../src/scene/shoot.js';
import type { SceneLamp, SceneSettings } from '../../src/scene/spec.js';
import { paintstop } from '../support/run.js';
import { smallScene } from '../support/scenes.js';
import { Watching } from '../support/watching.js';

let folder: string;
const tries: string[] = [];
let last: Buffer;

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'paintstop-'));
  const spec = smallScene(38, { skyStops: -5 });
  const scene = openScene(spec);
  for (const [n, times] of [0.5, 1, 2].entries()) {
    const shot = scene.shoot({ ...spec.settings, iso: spec.settings.iso * times }, spec.lamps, n + 1);
    const file = join(folder, `try-${String(n + 1)}.jpg`);
    writeFileSync(
      file,
      await encodeShot(shot, 'camera', { gainStops: 0.6, contrast: 0.35 }, `2026:07:14 23:1${String(n)}:00`),
    );
    tries.push(file);
  }
  const shot = scene.shoot({ ...spec.settings, iso: spec.settings.iso * 1.25 }, spec.lamps, 9);
  last = await encodeShot(shot, 'camera', { gainStops: 0.6, contrast: 0.35 }, '2026:07:14 23:20:00');
});
afterAll(() => {
  rmSync(folder, { recursive: true, force: true });
});

describe('frame with several JPEGs of a setup', () => {
  it("finds the camera's curve, reads by it, and knows it the next time", () => {
    const environment = { XDG_CONFIG_HOME: join(folder, 'config') };
    const lamps = ['--held', 'torch:3s@6m', '--stand', 'back@12m*0.5'];
    const read = (...files: string[]): Reading[] => {
      const ran = paintstop(['frame', ...files, '--json', ...lamps], environment);
      expect(ran.status).toBe(0);
      return ran.out
        .trimEnd()
        .split('\n')
        .map((line) => JSON.parse(line) as Reading);
    };
    const [alone] = read(tries[1]!);
    expect(alone!.encoding).toMatchObject({ response: 'srgb', levelUncertaintyStops: 0.5 });
    const last = read(...tries).at(-1)!;
    expect(last.encoding.response).toBe('camera');
    expect(last.encoding.levelUncertaintyStops).toBeLessThan(0.3);
    const [again] = read(tries[1]!);
    expect(again!.encoding.response).toBe('camera');
    // The scene's sky lies at -5; brightened by 0.6 and read as sRGB it looked brighter.
    expect(Math.abs(again!.regions.sky.levelStops! + 5)).toBeLessThan(0.2);
    expect(Math.abs(alone!.regions.sky.levelStops! + 5)).toBeGreaterThan(Math.abs(again!.regions.sky.levelStops! + 5));
  });
});

describe('frame with two JPEGs, the second as advised', () => {
  it('is not led astray by one note of the lamps that was given for both', async () => {
    const spec = randomScene(310012);
    const curve = { gainStops: 0.22, contrast: 0.44 };
    const scene = openScene(spec);
    const write = async (n: number, settings: SceneSettings, lamps: readonly SceneLamp[]): Promise<string> => {
      const file = join(folder, `advised-${String(n)}.jpg`);
      const shot = scene.shoot(settings, lamps, n);
      writeFileSync(file, await encodeShot(shot, 'camera', curve, `2026:07:14 23:3${String(n)}:00`));
      return file;
    };
    const read = (...files: string[]): Reading => {
      const ran = paintstop(['frame', ...files, '--json', '--held', 'torch:2s@3m'], {
        XDG_CONFIG_HOME: join(folder, 'advised'),
      });
      expect(ran.status).toBe(0);
      return JSON.parse(ran.out.trimEnd().split('\n').at(-1)!) as Reading;
    };
    const first = await write(1, spec.settings, spec.lamps);
    const option = read(first).advice.options[0]!;
    // Else there is nothing to be led astray by.
    expect(option.changes.some(({ light, factor }) => light === 'torch' && factor > 2)).toBe(true);
    const { settings, lamps } = applyAdvice(option, spec.settings, spec.lamps);
    const told = read(first, await write(2, settings, lamps)).regions.sky.levelStops!;
    const gained = Math.log2(
      (settings.iso / spec.settings.iso) * (settings.shutterSeconds / spec.settings.shutterSeconds),
    );
    expect(Math.abs(told - (spec.skyStops + gained))).toBeLessThan(0.5);
  });
});

describe('night', () => {
  it("finds the camera's curve before it reads, and gives the same the next time", () => {
    const card = join(folder, 'night');
    mkdirSync(card);
    for (const [n, file] of tries.entries()) copyFileSync(file, join(card, `moor-${String(n + 1)}.jpg`));
    const run = (home: string): string => {
      const ran = paintstop(['night', card, '--json', '--held', 'torch:3s@6m', '--stand', 'back@12m*0.5'], {
        XDG_CONFIG_HOME: join(folder, home),
        XDG_CACHE_HOME: join(folder, `${home}-cache`),
      });
      expect(ran.status).toBe(0);
      return ran.out;
    };
    const first = run('night-home');
    const night = JSON.parse(first) as { frames: Reading[] };
    expect(night.frames.map(({ encoding }) => encoding.response)).toEqual(['camera', 'camera', 'camera']);
    // One stop of ISO is one stop of sky; read as sRGB, a camera's curve stretches it.
    const [one, two, three] = night.frames.map(({ regions }) => regions.sky.levelStops!);
    expect(Math.abs(two! - one! - 1)).toBeLessThan(0.15);
    expect(Math.abs(three! - two! - 1)).toBeLessThan(0.15);
    expect(run('night-home')).toBe(first);
  });
});

describe('watch', () => {
  it("finds the camera's curve while frames arrive, and reads the next by it", async () => {
    const card = join(folder, 'card');
    mkdirSync(card);
    const own = new Watching(card, join(folder, 'home'), ['--held', 'torch:3s@6m', '--stand', 'back@12m*0.5']);
    await own.ready();
    for (const [n, file] of [...tries, tries[1]!].entries()) {
      const name = join(card, `moor-${String(n + 1)}.jpg`);
      // The last is another shot of the same light: another moment in its tags.
      if (n < tries.length) copyFileSync(file, name);
      else writeFileSync(name, last);
      await own.answers(n + 1);
    }
    own.kill('SIGTERM');
    await own.ended;
    expect(own.arrivals[0]!.encoding.response).toBe('srgb');
    expect(own.arrivals.at(-1)!.encoding.response).toBe('camera');
  });
});

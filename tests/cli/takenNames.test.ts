import { existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { demoScene } from '../../src/scene/demoNight.js';
import { encodeShot } from '../../src/scene/encode.js';
import { paintstop } from '../support/run.js';
import { shoot } from '../support/scenes.js';

let folder: string;
const at = (name: string): string => join(folder, name);

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'paintstop-taken-'));
  writeFileSync(at('moor.jpg'), await encodeShot(shoot(demoScene()), 'jpeg'));
  for (const ending of ['html', 'csv', 'png', 'svg']) writeFileSync(at(`mine.${ending}`), 'mine');
});
afterAll(() => {
  rmSync(folder, { recursive: true, force: true });
});

const PLACE = ['--lat', '40', '--lon', '-4', '--date', '2026-07-14'];

it.each([
  ['night', 'html', ['night', '.', '--no-cache', '--report']],
  ['night', 'csv', ['night', '.', '--no-cache', '--csv']],
  ['night', 'png', ['night', '.', '--no-cache', '--preview']],
  ['watch', 'png', ['watch', '.', '--preview']],
  ['why', 'html', ['why', 'moor.jpg', '--html']],
  ['sky', 'png', ['sky', 'moor.jpg', '--picture']],
  ['plan', 'svg', ['plan', ...PLACE, '--chart']],
])('%s refuses to write over a .%s that is not ours, before it reads a frame', (_, ending, words) => {
  const ran = paintstop([
    ...words.map((word) => (word === '.' ? folder : word.endsWith('.jpg') ? at(word) : word)),
    at(`mine.${ending}`),
  ]);
  expect(ran.status).toBe(2);
  expect(ran.out).toBe('');
  expect(ran.err).toMatch(/mine\.\w+ exists and was not written by paintstop, so it was left alone/);
  expect(readFileSync(at(`mine.${ending}`), 'utf8')).toBe('mine');
});

it.each([
  ['frame', '--picture'],
  ['frame', '--preview'],
  ['what-if', '--preview'],
  ['sky', '--picture'],
])('%s %s refuses a name that says another kind of picture than the PNG that would be in it', (command, option) => {
  const ran = paintstop([command, at('moor.jpg'), option, at('drawn.JPG')]);
  expect(ran.status).toBe(2);
  expect(ran.err).toContain('It is written as PNG; give a name that ends in .png.');
  expect(existsSync(at('drawn.JPG'))).toBe(false);
});

it('a lights file beside lamps of the command line is set aside aloud', () => {
  const ran = paintstop(['frame', at('moor.jpg'), '--held', 'torch:3s', '--lights', at('none.yaml'), '--json']);
  expect(ran.status).toBe(0);
  expect(ran.err).toContain('none.yaml (--lights) is set aside');
});

it('watch draws nothing into the folder that frames arrive in', () => {
  const ran = paintstop(['watch', folder, '--preview', at('next.png')]);
  expect(ran.status).toBe(2);
  expect(ran.err).toContain('lies in the folder that frames arrive in');
});

// Where a folder answers that what is to be made in it does not exist, Node's recursive mkdir never returns.
it.skipIf(!existsSync('/proc/self'))('a folder that cannot be made is told, and is no endless wait', () => {
  const ran = paintstop(['frame', at('moor.jpg'), '--masks', '/proc/none/masks']);
  expect(ran.status).toBe(2);
  expect(ran.err).toContain('cannot be written');
});

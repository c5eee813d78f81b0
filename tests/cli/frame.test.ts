import { spawnSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import { chmodSync, mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { PNG } from 'pngjs';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { encodeShot } from '../../src/scene/encode.js';
import { readingSchema } from '../contracts/readingSchema.js';
import { shoot, smallScene } from '../support/scenes.js';
import { paintstop, ROOT } from '../support/run.js';

let folder: string;
let good: string;
let second: string;

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'paintstop-'));
  good = join(folder, 'moor-0412.jpg');
  second = join(folder, 'moor-0413.tif');
  const shot = shoot(smallScene(38, { skyStops: -5 }));
  writeFileSync(good, await encodeShot(shot, 'jpeg'));
  writeFileSync(second, await encodeShot(shot, 'srgb16'));
});
afterAll(() => {
  rmSync(folder, { recursive: true, force: true });
});

describe('paintstop frame', () => {
  it('--json prints exactly one document that fits the contract, and nothing else', () => {
    const ran = paintstop(['frame', good, '--json', '--held', 'torch:3s@6m', '--stand', 'back@12m*0.5']);
    expect(ran.status).toBe(0);
    expect(ran.err).toBe('');
    expect(ran.out.trimEnd()).not.toContain('\n');
    const reading = readingSchema.parse(JSON.parse(ran.out));
    expect(reading.file).toBe('moor-0412.jpg');
    expect(reading.lights).toEqual([
      { name: 'torch', kind: 'held', seconds: 3, distanceM: 6, power: 1 },
      { name: 'back', kind: 'stand', seconds: null, distanceM: 12, power: 0.5 },
    ]);
  });

  it('the first line is what to do next', () => {
    const ran = paintstop(['frame', good, '--held', 'torch:3s@6m']);
    const json = JSON.parse(paintstop(['frame', good, '--json', '--held', 'torch:3s@6m']).out) as {
      advice: { summary: string };
    };
    expect(ran.out.split('\n')[0]).toBe(json.advice.summary.split('\n')[0]!.slice(0, ran.out.split('\n')[0]!.length));
  });

  it('several frames: one document a line in the order given; a bad one in the middle stops nothing', () => {
    const bad = join(folder, 'notes.jpg');
    writeFileSync(bad, 'torch 3 s\n');
    const ran = paintstop(['frame', second, bad, good, '--json']);
    expect(ran.status).toBe(0);
    const files = ran.out
      .trimEnd()
      .split('\n')
      .map((line) => (JSON.parse(line) as { file: string }).file);
    expect(files).toEqual(['moor-0413.tif', 'moor-0412.jpg']);
    expect(ran.err.trimEnd()).toBe(
      `paintstop: ${bad} is not a picture that can be read; give a JPEG, TIFF, PNG or camera raw file.`,
    );
  });

  it('exit status: 1 when nothing could be read, 2 for wrong use', () => {
    expect(paintstop(['frame', join(folder, 'none.jpg')]).status).toBe(1);
    expect(paintstop(['frame', folder]).status).toBe(1);
    for (const args of [
      [],
      ['frame'],
      ['frme', good],
      ['frame', good, '--iso', 'abc'],
      ['frame', good, '--iso', '0'],
      ['frame', good, '--held', 'torch'],
      ['frame', good, '--held', 'a:3s', '--stand', 'a'],
      ['frame', good, '--stand', 'back*7'],
      ['frame', good, '--nonsense'],
      ['frame', good, '--max-shutter', '1e9'],
      ['frame', good, ...Array.from({ length: 16 }, (_, n) => ['--held', `l${String(n)}:3s`]).flat()],
      ['frame', good, good, '--picture', join(folder, 'p.png')],
    ]) {
      const ran = paintstop(args);
      expect([args.join(' '), ran.status]).toEqual([args.join(' '), 2]);
      expect(ran.err).not.toMatch(/\n\s+at /);
    }
    expect(paintstop(['--help']).status).toBe(0);
    expect(paintstop(['--version']).out.trim()).toMatch(/^\d+\.\d+\.\d+$/);
  });

  it('--masks writes the regions at full size, --picture a drawing; both are new files, and originals stay as they were', () => {
    const before = createHash('sha256').update(readFileSync(good)).digest('hex');
    const masks = join(folder, 'masks');
    const picture = join(folder, 'drawn.png');
    const ran = paintstop(['frame', good, '--masks', masks, '--picture', picture]);
    expect(ran.status).toBe(0);
    const mask = PNG.sync.read(readFileSync(join(masks, 'moor-0412.regions.png')));
    expect([mask.width, mask.height]).toEqual([1008, 672]);
    const values = new Set<number>();
    for (let i = 0; i < mask.data.length; i += 4) values.add(mask.data[i]!);
    expect([...values].every((value) => [0, 85, 170, 255].includes(value))).toBe(true);
    expect(values.has(0) && values.has(170)).toBe(true);
    expect(PNG.sync.read(readFileSync(picture)).width).toBe(1008);
    expect(createHash('sha256').update(readFileSync(good)).digest('hex')).toBe(before);
    expect(readdirSync(folder).filter((name) => name.includes('.part'))).toEqual([]);
    // Written again over our own file: allowed. Over anything else: never.
    expect(paintstop(['frame', good, '--picture', picture]).status).toBe(0);
    const foreign = join(folder, 'foreign.png');
    writeFileSync(foreign, 'mine');
    const refused = paintstop(['frame', good, '--picture', foreign]);
    expect(refused.status).toBe(2);
    expect(refused.err).toContain('was left alone');
    // Told before the frame is read.
    expect(refused.out).toBe('');
    expect(readFileSync(foreign, 'utf8')).toBe('mine');
    expect(paintstop(['frame', good, '--picture', good]).status).toBe(2);
    expect(paintstop(['frame', picture, '--picture', picture]).status).toBe(2);
    expect(paintstop(['frame', good, '--masks', good]).status).toBe(2);
    expect(statSync(good).size).toBe(readFileSync(good).length);
  });

  it('pipes and NO_COLOR carry no escape codes; --red is dim red and nothing else', () => {
    expect(paintstop(['frame', good]).out).not.toContain('\u001b');
    expect(paintstop(['frame', good, '--red'], { NO_COLOR: '1' }).out).not.toContain('\u001b');
    const red = paintstop(['frame', good, '--red']).out;
    const codes = new Set(Array.from(red.matchAll(/\u001b\[([\d;]+)m/g), (match) => match[1]));
    expect([...codes].sort()).toEqual(['0', '38;5;124', '38;5;88']);
  });

  it('narrow terminals: no line is longer than the width', () => {
    for (const columns of [40, 60, 80]) {
      const ran = paintstop(['frame', good, '--held', 'torch:3s@6m', '--stand', 'back@12m'], {
        COLUMNS: String(columns),
      });
      for (const line of ran.out.split('\n')) expect(line.length).toBeLessThanOrEqual(columns);
    }
  });

  it('the caution about walking stands where advice costs a walk', () => {
    const ran = paintstop(['frame', good, '--json', '--held', 'torch:3s@6m', '--stand', 'back@12m*0.5']);
    const { advice } = JSON.parse(ran.out) as { advice: { options: { walks: number }[] } };
    const text = paintstop(['frame', good, '--held', 'torch:3s@6m', '--stand', 'back@12m*0.5']).out.replace(
      /\s+/g,
      ' ',
    );
    expect(text.includes('some parks forbid light painting')).toBe((advice.options[0]?.walks ?? 0) > 0);
  });

  it('many lamps are still answered, and a full disk is one sentence', () => {
    const lamps = Array.from({ length: 12 }, (_, n) => [
      '--held',
      `l${String(n)}:${String(n + 1)}s@${String(n + 3)}m*0.5`,
    ]).flat();
    expect(paintstop(['frame', good, '--json', ...lamps]).status).toBe(0);
    for (const frames of [[good], [good, good]]) {
      const full = spawnSync(
        'sh',
        [
          '-c',
          '"$0" "$@" > /dev/full',
          process.execPath,
          join(ROOT, 'bin', 'paintstop.js'),
          'frame',
          '--json',
          ...frames,
        ],
        { encoding: 'utf8' },
      );
      expect(full.status).toBe(1);
      expect(full.stderr.trimEnd().split('\n')).toHaveLength(1);
    }
  });

  it('names cannot write to the terminal', () => {
    const odd = join(folder, 'moor\u001b[31m\n1.jpg');
    writeFileSync(odd, readFileSync(good));
    const ran = paintstop(['frame', odd, join(folder, 'gone\u001b[2J.jpg')]);
    expect(ran.out + ran.err).not.toContain('\u001b');
    expect(ran.err.trimEnd().split('\n')).toHaveLength(1);
  });

  it('a frame that may not be read', () => {
    const locked = join(folder, 'locked.jpg');
    writeFileSync(locked, 'x');
    chmodSync(locked, 0o000);
    const ran = paintstop(['frame', locked]);
    expect(ran.status).toBe(1);
    expect(ran.err.trimEnd().split('\n')).toHaveLength(1);
    mkdirSync(join(folder, 'a folder'));
    expect(paintstop(['frame', join(folder, 'a folder')]).err).toContain('is not a file');
  });
});

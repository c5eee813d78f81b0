import {
  appendFileSync,
  copyFileSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  renameSync,
  rmSync,
  symlinkSync,
  writeFileSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, afterEach, beforeAll, beforeEach, describe, expect, it } from 'vitest';
import { demoScene } from '../../src/scene/demoNight.js';
import type { Reading } from '../../src/model/reading.js';
import { encodeShot } from '../../src/scene/encode.js';
import { openScene } from '../../src/scene/shoot.js';
import { arrivalSchema } from '../contracts/readingSchema.js';
import { paintstop } from '../support/run.js';
import { pause, until, Watching } from '../support/watching.js';

let room: string;
let folder: string;
let home: string;
let watching: Watching | null = null;
/** Four tries of one framing. */
const jpegs: Buffer[] = [];
let raw: Buffer;

beforeAll(async () => {
  room = mkdtempSync(join(tmpdir(), 'paintstop-watch-'));
  const spec = demoScene(972);
  const scene = openScene(spec);
  for (const [n, iso] of [1600, 2000, 2500, 3200].entries()) {
    const shot = scene.shoot({ ...spec.settings, iso }, spec.lamps, n + 1);
    const takenAt = `2026:07:14 23:1${String(n)}:00`;
    jpegs.push(Buffer.from(await encodeShot(shot, 'jpeg', undefined, takenAt)));
    if (n === 0) raw = Buffer.from(await encodeShot(shot, 'raw', undefined, takenAt));
  }
});

beforeEach(() => {
  folder = mkdtempSync(join(room, 'in-'));
  home = mkdtempSync(join(room, 'home-'));
});

afterEach(async () => {
  watching?.kill('SIGTERM');
  await watching?.ended;
  watching = null;
});

afterAll(() => {
  rmSync(room, { recursive: true, force: true });
});

async function watch(...args: string[]): Promise<Watching> {
  watching = new Watching(folder, home, args);
  await watching.ready();
  return watching;
}

const put = (name: string, bytes: Buffer): void => {
  writeFileSync(join(folder, name), bytes);
};

/** In pieces with pauses, as a slow cable does it. */
async function trickle(name: string, bytes: Buffer, pieces: number, pauseMs: number): Promise<void> {
  writeFileSync(join(folder, name), '');
  for (let n = 0; n < pieces; n++) {
    appendFileSync(
      join(folder, name),
      bytes.subarray(Math.floor((n * bytes.length) / pieces), Math.floor(((n + 1) * bytes.length) / pieces)),
    );
    await pause(pauseMs);
  }
}

/** Long enough for an answer too many to show itself. */
const AFTER = 2500;

describe('paintstop watch', () => {
  it('leaves what was there alone, and answers what comes', async () => {
    put('old-1.jpg', jpegs[3]!);
    const own = await watch();
    put('moor-1.jpg', jpegs[0]!);
    await own.answers(1);
    await pause(AFTER);
    expect(own.arrivals.map(({ file }) => file)).toEqual(['moor-1.jpg']);
    expect(arrivalSchema.parse(own.arrivals[0]).predicted).toBeNull();
    expect(Date.parse(own.arrivals[0]!.arrivedAt)).toBeGreaterThan(0);
    expect(readdirSync(folder).sort()).toEqual(['moor-1.jpg', 'old-1.jpg']);
  });

  it('copied in slowly, in pieces, out of order, twice: every whole frame one answer', async () => {
    const own = await watch();
    await Promise.all([
      trickle('moor-3.jpg', jpegs[2]!, 6, 700),
      trickle('moor-1.jpg', jpegs[0]!, 12, 90),
      (async () => {
        await pause(500);
        put('moor-2.jpg', jpegs[1]!);
        put('again-2.jpg', jpegs[1]!);
        await pause(1500);
        put('moor-2.jpg', jpegs[1]!);
      })(),
    ]);
    await own.answers(3);
    await pause(AFTER);
    const marks = own.arrivals.map(({ settings }) => settings.iso).sort();
    expect(marks).toEqual([1600, 2000, 2500]);
    expect(own.arrivals.every(({ settings }) => settings.widthPx === 972)).toBe(true);
  });

  it('room reserved first, filled later; renamed into place; in a folder below', async () => {
    const own = await watch();
    put('moor-1.jpg', Buffer.alloc(jpegs[0]!.length));
    await pause(1500);
    expect(own.arrivals).toHaveLength(0);
    put('moor-1.jpg', jpegs[0]!);
    put('.part', jpegs[1]!);
    renameSync(join(folder, '.part'), join(folder, 'moor-2.jpg'));
    mkdirSync(join(folder, 'DCIM'));
    put(join('DCIM', 'moor-3.jpg'), jpegs[2]!);
    await own.answers(3);
    await pause(AFTER);
    expect(own.arrivals.map(({ settings }) => settings.iso).sort()).toEqual([1600, 2000, 2500]);
  });

  it('gone before it was whole, or while it was read: no answer too many, and it goes on', async () => {
    const own = await watch();
    await trickle('moor-1.jpg', jpegs[0]!.subarray(0, 40_000), 2, 300);
    rmSync(join(folder, 'moor-1.jpg'));
    put('moor-2.jpg', jpegs[1]!);
    await until(() => own.arrivals.length > 0);
    put('moor-3.jpg', jpegs[2]!);
    await pause(450);
    rmSync(join(folder, 'moor-3.jpg'));
    put('moor-4.jpg', jpegs[3]!);
    await until(() => own.arrivals.some(({ settings }) => settings.iso === 3200));
    await pause(AFTER);
    const isos = own.arrivals.map(({ settings }) => settings.iso);
    expect(new Set(isos).size).toBe(isos.length);
    expect(isos).not.toContain(1600);
  });

  it.each([
    ['raw first', 'dng', 'jpg'],
    ['JPEG first', 'jpg', 'dng'],
  ])('a pair is one frame: %s', async (_, one, other) => {
    const bytes = { dng: raw, jpg: jpegs[0]! } as Record<string, Buffer>;
    const own = await watch();
    await trickle(`moor-1.${one}`, bytes[one]!, 3, 120);
    await trickle(`moor-1.${other}`, bytes[other]!, 6, 500);
    await own.answers(1);
    await pause(AFTER);
    expect(own.arrivals).toHaveLength(1);
    expect(own.arrivals[0]!.encoding.container).toBe('raw');
    expect(own.arrivals[0]!.pair?.file).toBe('moor-1.jpg');
  });

  it('the folder goes and comes back, as a card does: old frames stay answered, new ones are', async () => {
    const own = await watch();
    put('moor-1.jpg', jpegs[0]!);
    await own.answers(1);
    renameSync(folder, `${folder}-out`);
    await until(() => own.said.includes('gone'));
    mkdirSync(folder);
    // As on a card: other times, same files.
    copyFileSync(join(`${folder}-out`, 'moor-1.jpg'), join(folder, 'moor-1.jpg'));
    put('moor-2.jpg', jpegs[1]!);
    await own.answers(2);
    await pause(AFTER);
    expect(own.arrivals.map(({ settings }) => settings.iso)).toEqual([1600, 2000]);
    expect(own.said).toContain('there again');
  });

  it('a burst: the newest first', async () => {
    const own = await watch();
    const times = [1, 2, 3, 4];
    for (const n of times) put(`moor-${String(n)}.jpg`, jpegs[n - 1]!);
    await own.answers(4);
    // The first to be picked may be any that had settled; the newest comes before the older ones that wait.
    const order = own.arrivals.map(({ file }) => Number(file.slice(5, 6)));
    expect(order.indexOf(4)).toBeLessThan(2);
    expect(order.slice(1)).toEqual([...order.slice(1)].sort((a, b) => b - a));
  });

  it('damaged and foreign files are told in a sentence, and never stop it', async () => {
    const own = await watch();
    put('notes.txt', Buffer.from('no frame'));
    put('moor-8.jpg', Buffer.concat([Buffer.from([0xff, 0xd8]), Buffer.alloc(3000, 7), Buffer.from([0xff, 0xd9])]));
    put('moor-1.jpg', jpegs[0]!);
    await own.answers(1);
    await until(() => own.said.includes('moor-8.jpg'));
    await pause(500);
    expect(own.arrivals).toHaveLength(1);
    expect(own.said).not.toContain('notes.txt');
    expect(own.said).not.toMatch(/at .*\.js:\d/);
  });

  it('a folder behind a link; bytes that were read before under another name', async () => {
    const link = `${folder}-link`;
    symlinkSync(folder, link);
    paintstop(['night', folder], { XDG_CACHE_HOME: join(home, 'cache'), XDG_CONFIG_HOME: home });
    watching = new Watching(link, home);
    await watching.ready();
    put('one.jpg', jpegs[0]!);
    await watching.answers(1);
    watching.kill('SIGTERM');
    await watching.ended;
    const other = mkdtempSync(join(room, 'in-'));
    watching = new Watching(other, home);
    await watching.ready();
    writeFileSync(join(other, 'two.jpg'), jpegs[0]!);
    await watching.answers(1);
    expect(watching.arrivals[0]!.file).toBe('two.jpg');
  });

  it('--once ends after the first answer with status 0', async () => {
    const own = await watch('--once');
    put('moor-1.jpg', jpegs[0]!);
    expect(await own.ended).toBe(0);
    expect(own.arrivals).toHaveLength(1);
  });

  it('a folder that is none is one sentence and status 1', () => {
    const ran = paintstop(['watch', join(room, 'nowhere')]);
    expect(ran.status).toBe(1);
    expect(ran.err).toMatch(/^paintstop: .*nowhere is no folder; .*\n$/);
  });
});

describe('notes', () => {
  it('of lamps from the command line become a lights.yaml that is whole, and never spoil one', async () => {
    const own = await watch('--held', 'torch:3s@6m', '--stand', 'back@12m*0.5');
    own.type('torch 2');
    await until(() => own.said.includes('torch 2 s'));
    put('moor-1.jpg', jpegs[0]!);
    await own.answers(1);
    own.kill('SIGTERM');
    await own.ended;
    const file = join(folder, 'lights.yaml');
    const take = (): ReturnType<typeof paintstop> =>
      paintstop(['lights', folder, '--add-notes'], { XDG_STATE_HOME: home });
    expect(take().status).toBe(0);
    const read = paintstop(['frame', join(folder, 'moor-1.jpg'), '--json'], { XDG_CONFIG_HOME: home });
    expect((JSON.parse(read.out) as Reading).lights).toMatchObject([
      { name: 'torch', kind: 'held', seconds: 2, distanceM: 6 },
      { name: 'back', kind: 'stand', distanceM: 12, power: 0.5 },
    ]);
    // The torch of this file burns through: a count cannot be noted of it.
    const other = 'lamps: { torch: { kind: stand } } # mine\n';
    writeFileSync(file, other);
    const refused = take();
    expect(refused.status).toBe(2);
    expect(refused.err).toMatch(/was left alone, since with the notes in it something would be wrong/);
    expect(readFileSync(file, 'utf8')).toBe(other);
  });

  it('before and after a frame, kept through kill -9, taken up again, and taken into lights.yaml', async () => {
    const text =
      '# mine\nlamps:\n  torch: { kind: held, seconds: 3, metres: 6 } # the small one\n  back: { kind: stand, metres: 12, power: 0.5 }\n';
    writeFileSync(join(folder, 'lights.yaml'), text);
    let own = await watch();
    put('moor-1.jpg', jpegs[0]!);
    await own.answers(1);
    expect(own.arrivals[0]!.lights.map(({ seconds, power }) => [seconds, power])).toEqual([
      [3, 1],
      [null, 0.5],
    ]);
    own.type('back 17m');
    await until(() => own.said.includes('back 17 m'));
    own.kill('SIGKILL');
    await own.ended;
    own = await watch();
    own.type('torch 2');
    own.type('torch 9');
    own.type('undo');
    await until(() => own.said.includes('taken back'));
    put('moor-2.jpg', jpegs[1]!);
    await own.answers(1);
    expect(own.arrivals[0]!.lights.map(({ seconds, distanceM }) => [seconds, distanceM])).toEqual([
      [2, 6],
      [null, 17],
    ]);
    // Compared with the frame before the kill; ISO 2000 is what no one advised.
    expect(own.arrivals[0]!.sincePrevious?.cameraStops).toBeCloseTo(Math.log2(2000 / 1600), 1);
    expect(own.arrivals[0]!.predicted).toBeNull();
    own.kill('SIGTERM');
    expect(await own.ended).toBe(0);
    expect(readFileSync(join(folder, 'lights.yaml'), 'utf8')).toBe(text);
    const ran = paintstop(['lights', folder, '--add-notes'], { XDG_STATE_HOME: home });
    expect(ran.status).toBe(0);
    const after = readFileSync(join(folder, 'lights.yaml'), 'utf8');
    expect(after).toContain('# mine');
    expect(after).toContain('# the small one');
    expect(after).toMatch(/from: moor-2.jpg/);
    const read = paintstop(['frame', join(folder, 'moor-2.jpg'), '--json'], { XDG_CONFIG_HOME: home });
    const lights = (JSON.parse(read.out) as { lights: { seconds: number | null; distanceM: number }[] }).lights;
    expect(lights.map(({ seconds, distanceM }) => [seconds, distanceM])).toEqual([
      [2, 6],
      [null, 17],
    ]);
  });
});

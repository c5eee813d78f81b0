import { execFileSync, spawn, spawnSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import {
  cpSync,
  existsSync,
  lstatSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  statSync,
  symlinkSync,
  utimesSync,
  writeFileSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { gzipSync } from 'node:zlib';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { z } from 'zod';
import { nightSchema } from '../contracts/readingSchema.js';
import { has } from '../support/raw.js';
import { paintstop, ROOT } from '../support/run.js';

/** Twelve of the demo night's frames: four of each setup, one of them a raw and JPEG pair, and what a card holds besides. */
const KEPT = [500, 502, 503, 505, 508, 510, 512, 514, 516, 517, 521, 523];
const PAIR = 503;
let root: string;
let card: string;
let environment: Record<string, string>;
let night: z.infer<typeof nightSchema>;

beforeAll(() => {
  root = mkdtempSync(join(tmpdir(), 'paintstop-night-'));
  const all = join(root, 'all');
  card = join(root, 'card');
  environment = { XDG_CACHE_HOME: join(root, 'cache'), XDG_CONFIG_HOME: join(root, 'config') };
  paintstop(['demo', '--night', all]);
  mkdirSync(join(card, 'below'), { recursive: true });
  for (const n of KEPT)
    cpSync(join(all, `moor-${String(n)}.jpg`), join(card, n < 510 ? '' : 'below', `moor-${String(n)}.jpg`));
  cpSync(join(all, `moor-${String(PAIR)}.dng`), join(card, `moor-${String(PAIR)}.DNG`));
  writeFileSync(join(card, 'broken.jpg'), readFileSync(join(card, 'moor-500.jpg')).subarray(0, 30_000));
  writeFileSync(join(card, 'notes.txt'), 'torch 3 s');
  writeFileSync(join(card, '.hidden.jpg'), 'x');
}, 240_000);

afterAll(() => {
  rmSync(root, { recursive: true, force: true });
});

function run(...args: string[]): ReturnType<typeof paintstop> {
  return paintstop(['night', card, '--lat', '38', '--lon', '-3', ...args], environment);
}

function prints(folder: string): Record<string, string> {
  return Object.fromEntries(
    readdirSync(folder, { recursive: true, encoding: 'utf8' })
      .filter((name) => statSync(join(folder, name)).isFile())
      .map((name) => [
        name,
        createHash('sha256')
          .update(readFileSync(join(folder, name)))
          .digest('hex'),
      ]),
  );
}

describe('paintstop night', () => {
  it('grades the card, and leaves it as it was', { timeout: 120_000 }, () => {
    const before = prints(card);
    const ran = run('--json');
    expect(ran.status).toBe(0);
    night = nightSchema.parse(JSON.parse(ran.out));
    expect(prints(card)).toEqual(before);
    expect(night.frames).toHaveLength(KEPT.length);
    expect(night.failed.map(({ file }) => file)).toEqual(['broken.jpg']);
    expect(ran.err).toMatch(/broken\.jpg .+; .+\./);
  });
  it('takes raw and JPEG as one frame, in time order, in the three setups', () => {
    const files = night.frames.map(({ file }) => file.replace(/^below\//, ''));
    expect(files).toEqual(KEPT.map((n) => `moor-${String(n)}.${n === PAIR ? 'DNG' : 'jpg'}`));
    expect(night.setups.map(({ frames }) => frames.length)).toEqual([4, 4, 4]);
  });
  it('reads lone JPEGs through the curve that the pair has shown', () => {
    expect(
      night.frames.map(({ encoding }) => encoding.response).filter((response) => response === 'camera'),
    ).toHaveLength(11);
  });
  it('knows what the hands did, with the camera taken out', () => {
    const since = (n: number): NonNullable<(typeof night.frames)[number]['sincePrevious']> =>
      night.frames.find(({ file }) => file.includes(`moor-${String(n)}`))!.sincePrevious!;
    // Demo night: 502 after 500 is ISO x 2, count 3 s at full power to 2 s at half, stand lamp as it was.
    expect(since(502).cameraStops).toBeCloseTo(1, 2);
    expect(since(502).skyStops).toBeCloseTo(1, 0);
    // 517 after 516: ISO x 2 and nothing else.
    expect(Math.abs(Math.log2(since(517).paintRatio!))).toBeLessThan(0.15);
    // 523 after 521: count 4 s at 7 % to 3 s at 10 %: x 1.07.
    expect(Math.abs(Math.log2(since(523).paintRatio! / 1.07))).toBeLessThan(0.25);
  });
  it('picks the frames that the demo night balanced', () => {
    for (const setup of night.setups) {
      const best = night.frames.find(({ file }) => file === setup.picks[0])!;
      expect(best.grade.score).toBe(
        Math.max(...night.frames.filter(({ setup: id }) => id === setup.id).map(({ grade }) => grade.score)),
      );
      expect(Math.abs(best.balance.stops! - 1.5)).toBeLessThan(0.6);
    }
  });
  it('tells Sun, Moon and core', () => {
    const [first] = night.frames;
    expect(first!.sky!.sunAltitudeDeg).toBeLessThan(-10);
    expect(first!.sky!.says).toMatch(/^Sun at -\d+°: .* Moon \d+ % lit.* Core \d+° high in the south/);
  });

  it('gives the same bytes again, anew or from the cache, after kill -9 too', { timeout: 240_000 }, async () => {
    const reference = run('--json', '--no-cache').out;
    expect(run('--json').out).toBe(reference);
    for (const wait of [1900]) {
      rmSync(environment['XDG_CACHE_HOME']!, { recursive: true, force: true });
      const child = spawn(
        process.execPath,
        [join(ROOT, 'bin/paintstop.js'), 'night', card, '--lat', '38', '--lon', '-3', '--json'],
        {
          env: { ...process.env, ...environment },
          stdio: 'ignore',
        },
      );
      await new Promise((resolve) => setTimeout(resolve, wait));
      child.kill('SIGKILL');
      await new Promise((resolve) => child.once('exit', resolve));
      expect(run('--json').out).toBe(reference);
    }
  });

  it('writes a table and a page that asks for nothing; neither replaces a file of yours', { timeout: 60_000 }, () => {
    const csv = join(root, 'night.csv');
    const page = join(root, 'night.html');
    expect(run('--csv', csv, '--report', page).status).toBe(0);
    const lines = readFileSync(csv, 'utf8').trimEnd().split('\r\n');
    expect(lines).toHaveLength(KEPT.length + 1);
    expect(lines.every((line) => line.replace(/"[^"]*"/g, '').split(',').length === lines[0]!.split(',').length)).toBe(
      true,
    );
    const html = readFileSync(page, 'utf8');
    expect(html).not.toMatch(/<script|https?:\/\/|url\(/);
    // Every frame once, and the pick of each setup once more.
    expect(html.match(/data:image\/jpeg;base64,/g)).toHaveLength(KEPT.length + 3);
    for (const { file } of night.frames) expect(html).toContain(file);
    expect(html).toContain('forbid light painting');
    expect(run('--csv', csv).status).toBe(0);
    const own = join(root, 'mine.html');
    writeFileSync(own, '<p>mine</p>');
    expect(run('--report', own).status).toBe(2);
    expect(readFileSync(own, 'utf8')).toBe('<p>mine</p>');
  });

  it.skipIf(!has('chromium'))(
    'the page opens from the disk with an empty console and no request',
    { timeout: 60_000 },
    () => {
      const opened = spawnSync(
        'chromium',
        [
          '--headless',
          '--no-sandbox',
          '--disable-gpu',
          '--enable-logging=stderr',
          '--dump-dom',
          `file://${join(root, 'night.html')}`,
        ],
        { encoding: 'utf8', maxBuffer: 1e8 },
      );
      // The browser writes every console message to standard error as CONSOLE; blocked requests are such messages too.
      expect(opened.stderr).not.toContain('CONSOLE');
      const log = opened.stdout;
      expect(log).toContain('<svg');
      expect(log).toContain('Setup 3');
    },
  );

  it('a raw file that is damaged costs no more than itself: its JPEG is read', { timeout: 60_000 }, () => {
    const folder = join(root, 'damaged');
    mkdirSync(folder);
    writeFileSync(join(folder, 'a.dng'), readFileSync(join(card, `moor-${String(PAIR)}.DNG`)).subarray(0, 1000));
    cpSync(join(card, `moor-${String(PAIR)}.jpg`), join(folder, 'a.jpg'));
    const ran = paintstop(['night', folder, '--json'], environment);
    expect(ran.status).toBe(0);
    expect(ran.err).not.toContain('went wrong');
    const read = JSON.parse(ran.out) as z.infer<typeof nightSchema>;
    expect(read.frames.map(({ file }) => file)).toEqual(['a.jpg']);
    expect(read.failed.map(({ file }) => file)).toEqual(['a.dng']);
  });

  it('a kept reading that is damaged is read anew', { timeout: 60_000 }, () => {
    const folder = join(root, 'once');
    mkdirSync(folder);
    cpSync(join(card, 'moor-500.jpg'), join(folder, 'a.jpg'));
    const cache = join(root, 'damaged-cache');
    const told = (): string => paintstop(['night', folder, '--json'], { ...environment, XDG_CACHE_HOME: cache }).out;
    const first = told();
    const kept = readdirSync(cache, { recursive: true, encoding: 'utf8' }).filter((name) => name.endsWith('.gz'));
    expect(kept).toHaveLength(1);
    for (const text of [
      '',
      '{"record":5}',
      '{"record":{"reading":{"schema":"paintstop.frame/1"},"glance":{"light":[]}}}',
    ]) {
      writeFileSync(join(cache, kept[0]!), gzipSync(text));
      expect(told()).toBe(first);
    }
  });

  it(
    'names say nothing to the terminal, and one output that cannot be written stops no other',
    { timeout: 60_000 },
    () => {
      const folder = join(root, 'evil');
      mkdirSync(folder);
      cpSync(join(card, 'moor-500.jpg'), join(folder, 'a\u001b[31m\u009b31m\u202eb.jpg'));
      const told = paintstop(['night', folder], environment);
      expect(told.status).toBe(0);
      expect(told.out.replaceAll('\n', '')).not.toMatch(/\p{C}/u);
      const report = join(root, 'evil.html');
      const ran = paintstop(['night', folder, '--json', '--csv', '/proc/none.csv', '--report', report], environment);
      expect(ran.status).toBe(2);
      expect(existsSync(report)).toBe(true);
      expect(ran.out.trimEnd()).not.toMatch(/\p{C}/u);
      expect((JSON.parse(ran.out) as z.infer<typeof nightSchema>).frames[0]!.file).toContain('\u009b31m\u202e');
      expect(paintstop(['night', folder, '--threads', '1.5'], environment).status).toBe(2);
      expect(paintstop(['night', folder, '--a\u001b[31m'], environment).err).not.toContain('\u001b');
    },
  );

  it('wrong use and empty folders', () => {
    const empty = join(root, 'empty');
    mkdirSync(empty);
    expect(paintstop(['night', empty], environment).status).toBe(1);
    expect(paintstop(['night', join(root, 'none')], environment).status).toBe(1);
    expect(run('--tz', 'Moon/Base').status).toBe(2);
    expect(run('--lat', '100').status).toBe(2);
    expect(paintstop(['night', card, '--lat', '38'], environment).status).toBe(2);
    expect(run('--csv', 'x', '--report', 'x').status).toBe(2);
  });
});

describe('ratings in sidecars', () => {
  const foreign = `<?xpacket begin="" id="W5M0MpCehiHzreSzNTczkc9d"?>
<x:xmpmeta xmlns:x="adobe:ns:meta/"><rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#">
<rdf:Description rdf:about="" xmlns:xmp="http://ns.adobe.com/xap/1.0/" xmlns:dc="http://purl.org/dc/elements/1.1/" xmlns:my="http://example.org/my/" xmp:Rating="2" my:Secret="kept &amp; safe">
<dc:description><rdf:Alt><rdf:li xml:lang="x-default">Hut at night</rdf:li><rdf:li xml:lang="de">Hütte</rdf:li></rdf:Alt></dc:description>
<dc:subject><rdf:Bag><rdf:li>moor</rdf:li></rdf:Bag></dc:subject></rdf:Description></rdf:RDF></x:xmpmeta>
<?xpacket end="w"?>`;

  it('are only told in a dry run, then merged without losing anything', { timeout: 60_000 }, () => {
    writeFileSync(join(card, 'moor-500.jpg.xmp'), foreign);
    writeFileSync(join(card, 'moor-502.xmp'), 'not XML at all');
    const before = prints(card);
    const dry = run('--xmp', '--dry-run');
    expect(dry.err).toContain('would write');
    expect(prints(card)).toEqual(before);
    // What a killed run has left goes, once no other run can be at it.
    const left = join(card, '.moor-500.jpg.xmp.0123456789ab.part');
    const others = join(card, '.mine.0123456789ab.part');
    for (const path of [left, others]) {
      writeFileSync(path, '');
      utimesSync(path, new Date(0), new Date(0));
    }
    const wet = run('--xmp');
    expect(existsSync(left)).toBe(false);
    expect(existsSync(others)).toBe(true);
    rmSync(others);
    expect(wet.err).toMatch(/moor-500\.jpg\.xmp \(merged\): rating \d, was 2/);
    const merged = readFileSync(join(card, 'moor-500.jpg.xmp'), 'utf8');
    for (const kept of [
      'kept &amp; safe',
      'Hütte',
      'Hut at night',
      '<rdf:li>moor</rdf:li>',
      'W5M0MpCehiHzreSzNTczkc9d',
    ])
      expect(merged).toContain(kept);
    const rating = night.frames[0]!.grade.rating;
    expect(merged).toContain(`xmp:Rating="${String(rating)}"`);
    expect(readFileSync(join(card, 'moor-502.xmp'), 'utf8')).toBe('not XML at all');
    expect(existsSync(join(card, 'moor-503.xmp'))).toBe(true);
    // Again: nothing to write, no second line.
    expect(run('--xmp').err).not.toContain('wrote');
    // What is no file in a sidecar's place stops neither the program nor the others.
    rmSync(join(card, 'moor-503.xmp'));
    execFileSync('mkfifo', [join(card, 'moor-503.xmp')]);
    rmSync(join(card, 'moor-505.xmp'));
    const odd = run('--xmp');
    expect(odd.err).toContain('moor-503.xmp is no file');
    expect(odd.err).toContain('moor-505.xmp: rating');
    expect(odd.status).toBe(2);
    rmSync(join(card, 'moor-503.xmp'));
    run('--xmp');
  });

  it('leaves alone what it cannot write back whole, and keeps what is another thing', { timeout: 60_000 }, () => {
    const folder = join(root, 'sidecars');
    mkdirSync(folder);
    for (const name of ['latin', 'locked', 'gone', 'nested', 'prefix', 'attribute', 'rejected'])
      cpSync(join(card, 'moor-500.jpg'), join(folder, `${name}.jpg`));
    cpSync(join(card, 'moor-500.jpg'), join(folder, 'twin.jpg'));
    writeFileSync(join(folder, 'twin.dng'), readFileSync(join(card, `moor-${String(PAIR)}.DNG`)));
    cpSync(join(card, 'moor-502.jpg'), join(folder, 'twin.jpeg'));
    const latin = Buffer.from(`<?xml version="1.0" encoding="ISO-8859-1"?>${foreign}`, 'latin1');
    writeFileSync(join(folder, 'latin.xmp'), latin);
    writeFileSync(join(folder, 'locked.xmp'), foreign, { mode: 0o444 });
    symlinkSync(join(root, 'nowhere.xmp'), join(folder, 'gone.xmp'));
    const nested = foreign
      .replace(' xmp:Rating="2"', '')
      .replace('<dc:subject>', '<my:From><rdf:Description xmp:Rating="4"/></my:From><dc:subject>');
    writeFileSync(join(folder, 'nested.xmp'), nested, { mode: 0o640 });
    writeFileSync(join(folder, 'prefix.xmp'), foreign.replaceAll('rdf:', 'r:').replace('xmlns:rdf', 'xmlns:r'));
    const attribute = foreign
      .replace(/<dc:description>.*<\/dc:description>/s, '')
      .replace('my:Secret', 'dc:description="Hut" my:Secret');
    writeFileSync(join(folder, 'attribute.xmp'), attribute);
    writeFileSync(
      join(folder, 'rejected.xmp'),
      foreign.replace(' xmp:Rating="2"', '').replace('<dc:subject>', '<xmp:Rating>-1</xmp:Rating><dc:subject>'),
    );
    const dry = paintstop(['night', folder, '--xmp', '--dry-run'], environment);
    expect(dry.status).toBe(2);
    expect(dry.err).toContain('locked.xmp is read-only and was left alone');
    expect(dry.err).not.toMatch(/would write \S*locked/);
    const ran = paintstop(['night', folder, '--xmp'], environment);
    expect(ran.status).toBe(2);
    expect(ran.err).toContain('rejected by you, and left so');
    expect(readFileSync(join(folder, 'rejected.xmp'), 'utf8')).toContain('<xmp:Rating>-1</xmp:Rating>');
    expect(readFileSync(join(folder, 'latin.xmp'))).toEqual(latin);
    expect(readFileSync(join(folder, 'locked.xmp'), 'utf8')).toBe(foreign);
    expect(lstatSync(join(folder, 'gone.xmp')).isSymbolicLink()).toBe(true);
    const text = (name: string): string => readFileSync(join(folder, name), 'utf8');
    expect(text('nested.xmp')).toContain('<rdf:Description xmp:Rating="4"/>');
    expect(text('nested.xmp').match(/xmp:Rating/g)).toHaveLength(2);
    expect(statSync(join(folder, 'nested.xmp')).mode & 0o777).toBe(0o640);
    expect(text('prefix.xmp').match(/x-default/g)).toHaveLength(1);
    expect(text('attribute.xmp').match(/dc:description/g)).toHaveLength(2);
    expect(text('attribute.xmp')).toMatch(/>Hut\npaintstop:/);
    // Two frames of one stem: each has a sidecar of its own, and a second run has nothing to do.
    expect(readdirSync(folder).filter((name) => /^twin\.\w+\.xmp$/.test(name))).toHaveLength(2);
    expect(existsSync(join(folder, 'twin.xmp'))).toBe(false);
    expect(paintstop(['night', folder, '--xmp'], environment).err).not.toMatch(/wrote .*twin/);
  });

  it.skipIf(!has('exiftool'))('are read by exiftool (Debian)', () => {
    const told = JSON.parse(
      execFileSync(
        'exiftool',
        ['-json', '-XMP:all', '-G1', join(card, 'moor-500.jpg.xmp'), join(card, 'moor-503.xmp')],
        { encoding: 'utf8' },
      ),
    ) as Record<string, unknown>[];
    expect(told[0]!['XMP-xmp:Rating']).toBe(night.frames[0]!.grade.rating);
    expect(String(told[0]!['XMP-dc:Description'])).toMatch(/Hut at night.*paintstop: score \d+ of 100/s);
    expect(told[0]!['XMP-dc:Description-de']).toBe('Hütte');
    expect(told[1]!['XMP-xmp:Rating']).toBe(night.frames.find(({ file }) => file.includes('503'))!.grade.rating);
    expect(String(told[1]!['XMP-dc:Description'])).toMatch(/^paintstop: score/);
  });
});

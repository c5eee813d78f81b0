import { spawnSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import sharp from 'sharp';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { seededRandom } from '../../src/math/random.js';
import { exifBlock, handmadePng, withExif } from '../support/bytes.js';
import { paintstop } from '../support/run.js';

let folder: string;
const files = new Map<string, Buffer>();

/** Files that a card, a mail or a stranger may bring; each name says what is wrong. */
async function makeFiles(): Promise<void> {
  const random = seededRandom(9);
  const noise = Buffer.from(Uint8Array.from({ length: 600 * 400 * 3 }, () => Math.floor(random.next() * 90)));
  const raw = { raw: { width: 600, height: 400, channels: 3 as const } };
  const jpeg = await sharp(noise, raw).jpeg({ quality: 90 }).toBuffer();
  const png = await sharp(noise, raw).png().toBuffer();
  const tiff = await sharp(noise, raw).tiff({ compression: 'deflate' }).toBuffer();
  files.set('empty.jpg', Buffer.alloc(0));
  files.set('one-byte.jpg', Buffer.from([0xff]));
  files.set('only-a-marker.jpg', Buffer.from([0xff, 0xd8, 0xff]));
  files.set('text.jpg', Buffer.from('count one, two, off\n'));
  files.set('zeros.tif', Buffer.alloc(5000));
  files.set('ones.png', Buffer.alloc(5000, 0xff));
  files.set('page.png', Buffer.from('<!doctype html><title>x</title>'));
  files.set('random.jpg', Buffer.from(Uint8Array.from({ length: 9000 }, () => Math.floor(random.next() * 256))));
  for (const [name, bytes] of [
    ['jpg', jpeg],
    ['png', png],
    ['tif', tiff],
  ] as const) {
    for (const part of [0.02, 0.2, 0.5, 0.9])
      files.set(`cut-${String(part)}.${name}`, bytes.subarray(0, Math.floor(bytes.length * part)));
    const holed = Buffer.from(bytes);
    holed.fill(0, Math.floor(bytes.length * 0.4), Math.floor(bytes.length * 0.6));
    files.set(`holed.${name}`, holed);
    const flipped = Buffer.from(bytes);
    for (let n = 0; n < 60; n++) flipped[Math.floor(random.next() * flipped.length)] = Math.floor(random.next() * 256);
    files.set(`flipped.${name}`, flipped);
  }
  files.set('png-called-jpg.jpg', png);
  files.set('jpg-called-tif.tif', jpeg);
  files.set('huge.png', handmadePng(60000, 60000));
  files.set('wide.png', handmadePng(2_000_000_000, 1));
  files.set('nothing.png', handmadePng(0, 0));
  files.set(
    'one-pixel.png',
    await sharp({ create: { width: 1, height: 1, channels: 3, background: '#fff' } })
      .png()
      .toBuffer(),
  );
  files.set(
    'strip.png',
    await sharp({ create: { width: 4000, height: 2, channels: 3, background: '#223' } })
      .png()
      .toBuffer(),
  );
  files.set('raf.jpg', Buffer.concat([Buffer.from('FUJIFILMCCD-RAW 0201'), Buffer.alloc(2000)]));
  files.set('cr3.jpg', Buffer.concat([Buffer.from([0, 0, 0, 24]), Buffer.from('ftypcrx '), Buffer.alloc(2000)]));
  files.set('webp.jpg', await sharp(noise, raw).webp().toBuffer());
  files.set('gif.png', await sharp(noise, raw).gif().toBuffer());
  files.set('tiff-loop.tif', loopingTiff());
  files.set('exif-loop.jpg', withExif(jpeg, exifLoop()));
  files.set(
    'exif-zeros.jpg',
    withExif(
      jpeg,
      exifBlock(
        [{ tag: 0x0112, type: 'short', value: [99] }],
        [
          { tag: 0x829a, type: 'rational', value: [1, 0] },
          { tag: 0x829d, type: 'rational', value: [0, 0] },
          { tag: 0x920a, type: 'rational', value: [4294967295, 1] },
          { tag: 0x8827, type: 'short', value: [0] },
        ],
      ),
    ),
  );
  files.set('zip.tif', Buffer.concat([Buffer.from('PK\u0003\u0004'), Buffer.alloc(500, 7)]));
}

/** A directory whose "next" pointer is itself. */
function loopingTiff(): Buffer {
  const bytes = Buffer.alloc(64);
  bytes.set([0x49, 0x49, 42, 0, 8, 0, 0, 0, 1, 0]);
  bytes.writeUInt16LE(256, 10);
  bytes.writeUInt16LE(3, 12);
  bytes.writeUInt32LE(1, 14);
  bytes.writeUInt32LE(600, 18);
  bytes.writeUInt32LE(8, 22);
  return bytes;
}

/** An Exif pointer that points at the first directory again. */
function exifLoop(): Buffer {
  const block = exifBlock([], [{ tag: 0x8827, type: 'short', value: [1600] }]);
  block.writeUInt32LE(8, 18);
  return block;
}

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'paintstop-hostile-'));
  await makeFiles();
  for (const [name, bytes] of files) writeFileSync(join(folder, name), bytes);
});
afterAll(() => {
  rmSync(folder, { recursive: true, force: true });
});

describe('hostile files', () => {
  it('there are at least forty', () => {
    expect(files.size).toBeGreaterThanOrEqual(40);
  });

  it('each alone: a reading or one clear sentence, the right exit status, no stack trace, nothing that is no number', () => {
    for (const [name, bytes] of files) {
      const path = join(folder, name);
      const ran = paintstop(['frame', path, '--json']);
      const told = `${name}: ${String(ran.status)} ${ran.err}`;
      expect([0, 1], told).toContain(ran.status);
      expect(ran.err, told).not.toMatch(/\n\s+at |TypeError|RangeError|should not/);
      if (ran.status === 0) expect(() => JSON.parse(ran.out) as unknown, told).not.toThrow();
      else {
        expect(ran.out, told).toBe('');
        expect(ran.err.trimEnd().split('\n'), told).toHaveLength(1);
        expect(ran.err, told).toContain(name);
      }
      expect(ran.out, told).not.toMatch(/NaN|Infinity/);
      expect(createHash('sha256').update(readFileSync(path)).digest('hex')).toBe(
        createHash('sha256').update(bytes).digest('hex'),
      );
    }
  }, 240_000);

  it('all together: every readable one is read', () => {
    const ran = paintstop(['frame', '--json', ...Array.from(files.keys(), (name) => join(folder, name))]);
    expect(ran.status).toBe(0);
    const lines = ran.out.trimEnd().split('\n').length;
    expect(lines + ran.err.trimEnd().split('\n').length).toBe(files.size);
  });

  it('a pipe instead of a file does not hang', () => {
    const pipe = join(folder, 'pipe.jpg');
    if (spawnSync('mkfifo', [pipe]).status !== 0) return;
    expect(paintstop(['frame', pipe]).status).toBe(1);
    rmSync(pipe);
  });
});

import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import fc from 'fast-check';
import sharp from 'sharp';
import { beforeAll, describe, expect, it } from 'vitest';
import { wholeness } from '../../src/read/wholeness.js';
import { encodeShot } from '../../src/scene/encode.js';
import { smallScene, shoot } from '../support/scenes.js';
import { sharedFile } from '../support/shared.js';

const files = new Map<string, Uint8Array>();

beforeAll(async () => {
  const shot = shoot(smallScene(3, { widthPx: 480, heightPx: 320 }));
  files.set('jpeg', await encodeShot(shot, 'jpeg'));
  files.set('dng', await encodeShot(shot, 'raw'));
  files.set('tiff', await encodeShot(shot, 'srgb16'));
  files.set('png', await sharp(files.get('jpeg')).png().toBuffer());
});

describe.each(['jpeg', 'dng', 'tiff', 'png'])('%s', (kind) => {
  it('is whole, also with something behind it', () => {
    const bytes = files.get(kind)!;
    expect(wholeness(bytes)).toBe('whole');
    if (kind !== 'png') expect(wholeness(Buffer.concat([bytes, Buffer.from('more')]))).toBe('whole');
  });
  it('cut anywhere it is not, nor with its room reserved', () => {
    const bytes = files.get(kind)!;
    fc.assert(
      fc.property(fc.double({ min: 0, max: 0.9999, noNaN: true }), (part) => {
        const cut = Math.floor(bytes.length * part);
        expect(wholeness(bytes.subarray(0, cut))).not.toBe('whole');
        // The last half kilobyte may be the file's own zeros.
        if (cut > bytes.length - 600) return;
        const reserved = new Uint8Array(bytes.length);
        reserved.set(bytes.subarray(0, cut));
        expect(wholeness(reserved)).not.toBe('whole');
      }),
    );
  });
});

const real = ['raw', 'photos'].flatMap((name) => {
  const folder = sharedFile(name);
  const names = folder === null ? [] : readdirSync(folder);
  return names.filter((own) => /\.(jpe?g|dng|cr2|nef|arw|tiff?)$/i.test(own)).map((own) => join(folder!, own));
});

/** Cameras' own files under ../shared, where it is there. */
describe.skipIf(real.length === 0)('real files', () => {
  it.each(real)('%s', (path) => {
    const bytes = readFileSync(path);
    expect(wholeness(bytes)).toBe('whole');
    expect(wholeness(bytes.subarray(0, Math.floor(bytes.length * 0.97)))).not.toBe('whole');
  });
});

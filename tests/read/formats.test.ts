import sharp from 'sharp';
import { describe, expect, it } from 'vitest';
import { PaintstopError } from '../../src/errors.js';
import { openFrame, type ReadOptions } from '../../src/read/readFrame.js';
import type { Frame } from '../../src/model/frame.js';
import { srgbToLinear } from '../../src/physics/encoding.js';
import { encodeDng } from '../../src/scene/dng.js';
import { randomScene } from '../../src/scene/randomScene.js';
import { openScene } from '../../src/scene/shoot.js';
import { builtUnpacker } from '../support/raw.js';
import { FORMATS } from '../../src/read/formats/list.js';

async function read(bytes: Uint8Array, options: ReadOptions = {}): Promise<Frame> {
  return (await (await openFrame(bytes, 'x', options, { unpackRaw: await builtUnpacker() })).frame).frame;
}

function ramp(width: number, height: number, channels: 3 | 4 = 3): Uint8Array {
  return Uint8Array.from({ length: width * height * channels }, (_, i) => (i * 37) % 256);
}

function ramp16(width: number, height: number): Uint16Array {
  return Uint16Array.from({ length: width * height * 3 }, (_, i) => (i * 2654435761) % 65536);
}

const SAMPLES: Readonly<Record<string, () => Promise<Buffer>>> = {
  jpeg: () =>
    sharp(ramp(64, 48), { raw: { width: 64, height: 48, channels: 3 } })
      .jpeg()
      .toBuffer(),
  png: () =>
    sharp(ramp(64, 48), { raw: { width: 64, height: 48, channels: 3 } })
      .png()
      .toBuffer(),
  tiff: () =>
    sharp(ramp(64, 48), { raw: { width: 64, height: 48, channels: 3 } })
      .tiff()
      .toBuffer(),
  raw: () => {
    const spec = randomScene(3, { widthPx: 96, heightPx: 64 });
    return Promise.resolve(
      Buffer.from(encodeDng(openScene(spec).shoot(spec.settings, spec.lamps), '2026:07:14 23:10:00')),
    );
  },
};

describe('every format', () => {
  it.each(FORMATS.map((format) => format.id))('%s sniffs its own bytes and no other format does', async (id) => {
    const bytes = await SAMPLES[id]!();
    expect(FORMATS.filter((format) => format.sniff(bytes)).map((format) => format.id)).toEqual([id]);
    expect((await read(bytes)).encoding.container).toBe(id);
  });

  it.each(FORMATS.map((format) => format.id))(
    '%s cut short or turned to garbage gives a sentence, never a hang',
    async (id) => {
      const bytes = await SAMPLES[id]!();
      for (const part of [0.05, 0.3, 0.6, 0.9]) {
        const cut = bytes.subarray(0, Math.max(12, Math.floor(bytes.length * part)));
        await expect(read(cut)).rejects.toThrow(/^x .+; .+\.$/);
      }
      const garbage = Buffer.from(bytes);
      garbage.fill(0x5a, Math.floor(bytes.length * 0.1), Math.floor(bytes.length * 0.95));
      const outcome = await read(garbage).then(
        (frame) => frame.widthPx > 0,
        (cause: unknown) => cause instanceof Error && cause.name === PaintstopError.name,
      );
      expect(outcome).toBe(true);
    },
  );
});

describe('values', () => {
  it('keeps 8 bit exact', async () => {
    const samples = ramp(80, 60);
    for (const bytes of [
      await sharp(samples, { raw: { width: 80, height: 60, channels: 3 } })
        .png()
        .toBuffer(),
      await sharp(samples, { raw: { width: 80, height: 60, channels: 3 } })
        .png({ palette: false, progressive: true })
        .toBuffer(),
      await sharp(samples, { raw: { width: 80, height: 60, channels: 3 } })
        .tiff({ compression: 'lzw' })
        .toBuffer(),
    ]) {
      const frame = await read(bytes);
      expect(frame.samples).toBeInstanceOf(Uint8Array);
      expect(
        Buffer.from(frame.samples.buffer, frame.samples.byteOffset, frame.samples.length).equals(Buffer.from(samples)),
      ).toBe(true);
    }
  });

  it('keeps 16 bit exact (PNG and TIFF)', async () => {
    const samples = ramp16(80, 60);
    const raw = sharp(samples, { raw: { width: 80, height: 60, channels: 3 } }).toColourspace('rgb16');
    for (const bytes of [
      await raw.clone().png().toBuffer(),
      await raw.clone().tiff({ compression: 'deflate' }).toBuffer(),
    ]) {
      const frame = await read(bytes);
      expect(frame.encoding.bitsPerChannel).toBe(16);
      expect(Array.from(frame.samples)).toEqual(Array.from(samples));
      expect(frame.clipSample).toBe(65278);
    }
  });

  it('takes grey as three equal channels, drops alpha, expands a palette', async () => {
    const grey = Uint8Array.from({ length: 64 * 48 }, (_, i) => i % 256);
    const frame = await read(
      await sharp(grey, { raw: { width: 64, height: 48, channels: 1 } })
        .toColourspace('b-w')
        .png()
        .toBuffer(),
    );
    expect(Array.from(frame.samples.subarray(300, 306))).toEqual([100, 100, 100, 101, 101, 101]);
    const rgba = ramp(64, 48, 4);
    const opaque = await read(
      await sharp(rgba, { raw: { width: 64, height: 48, channels: 4 } })
        .png()
        .toBuffer(),
    );
    expect(Array.from(opaque.samples.subarray(0, 6))).toEqual([rgba[0], rgba[1], rgba[2], rgba[4], rgba[5], rgba[6]]);
    const flat = await sharp({ create: { width: 64, height: 64, channels: 3, background: '#204060' } })
      .png({ palette: true })
      .toBuffer();
    expect(Array.from((await read(flat)).samples.subarray(0, 3))).toEqual([0x20, 0x40, 0x60]);
  });

  it('reads CMYK and progressive JPEG', async () => {
    const red = sharp({ create: { width: 64, height: 64, channels: 3, background: '#c02020' } });
    const cmyk = await read(await red.clone().toColourspace('cmyk').jpeg({ quality: 100 }).toBuffer());
    expect(cmyk.samples[0]!).toBeGreaterThan(150);
    expect(cmyk.samples[1]!).toBeLessThan(90);
    const progressive = await read(await red.clone().jpeg({ progressive: true, quality: 100 }).toBuffer());
    expect(Math.abs(progressive.samples[0]! - 0xc0)).toBeLessThan(4);
  });

  it.each([1, 2, 3, 4, 5, 6, 7, 8])('turns orientation %i upright', async (orientation) => {
    // 3 x 2 blocks of 32 px; the block that must come to the upper left is marked, by the eight cases of Exif 2.32, 4.6.4 A.
    const corners: Record<number, readonly [number, number]> = {
      1: [0, 0],
      2: [2, 0],
      3: [2, 1],
      4: [0, 1],
      5: [0, 0],
      6: [0, 1],
      7: [2, 1],
      8: [2, 0],
    };
    const [markX, markY] = corners[orientation]!;
    const samples = new Uint8Array(96 * 64 * 3);
    for (let y = 0; y < 64; y++)
      for (let x = 0; x < 96; x++)
        if (Math.floor(x / 32) === markX && Math.floor(y / 32) === markY) samples[(y * 96 + x) * 3] = 255;
    const bytes = await sharp(samples, { raw: { width: 96, height: 64, channels: 3 } })
      .withMetadata({ orientation })
      .png()
      .toBuffer();
    const frame = await read(bytes);
    expect([frame.widthPx, frame.heightPx]).toEqual(orientation > 4 ? [64, 96] : [96, 64]);
    expect(frame.samples[(8 * frame.widthPx + 8) * 3]).toBe(255);
    expect(frame.samples[((frame.heightPx - 8) * frame.widthPx + frame.widthPx - 8) * 3]).toBe(0);
  });
});

describe('odd samples', () => {
  it('grey floating point keeps its light', async () => {
    const samples = new Float32Array(64 * 64).fill(0.03);
    const bytes = await sharp(samples, { raw: { width: 64, height: 64, channels: 1 } })
      .toColourspace('b-w')
      .tiff()
      .toBuffer();
    if ((await sharp(bytes).metadata()).depth === 'float')
      expect((await read(bytes)).samples[300]).toBeCloseTo(0.03, 5);
  });

  it('a picture thinner than a block does not read past its end', async () => {
    const bytes = await sharp({ create: { width: 3000, height: 1, channels: 3, background: '#333344' } })
      .png()
      .toBuffer();
    const grid = await (await openFrame(bytes, 'thin')).grid;
    expect(grid.luminance.every((value) => value > 0.02 && value < 0.06)).toBe(true);
  });
});

describe('colour and curve', () => {
  it('untagged files are read by the sRGB curve of IEC 61966-2-1', async () => {
    const frame = await read(await SAMPLES['png']!());
    expect(frame.encoding.response).toBe('srgb');
    for (const [code, light] of [
      [10, 0.003035],
      [128, 0.215861],
      [254, 0.991102],
    ] as const)
      expect(frame.toLinear[1][code]).toBeCloseTo(light, 6);
  });

  it('a wide-gamut JPEG (Display P3) is carried to linear sRGB, not read as if it were sRGB', async () => {
    const samples = new Uint8Array(64 * 64 * 3).fill(0);
    for (let i = 0; i < samples.length; i += 3) samples.set([200, 120, 60], i);
    const bytes = await sharp(samples, { raw: { width: 64, height: 64, channels: 3 } })
      .withIccProfile('p3')
      .jpeg({ quality: 100, chromaSubsampling: '4:4:4' })
      .toBuffer();
    const opened = await openFrame(bytes, 'x');
    const grid = await opened.grid;
    const middle = 32 * grid.width + 32;
    // The profile was applied to sRGB values on writing, so reading must give the sRGB values back.
    expect(grid.red[middle]).toBeCloseTo(srgbToLinear(200 / 255), 1.8);
    expect(grid.blue[middle]).toBeCloseTo(srgbToLinear(60 / 255), 1.8);
    expect((await opened.frame).frame.toSrgbPrimaries).not.toBeNull();
  });

  it('--linear takes values as light', async () => {
    const frame = await read(await SAMPLES['png']!(), { linear: true });
    expect(frame.encoding.response).toBe('linear');
    expect(frame.toLinear[0][128]).toBeCloseTo(128 / 255, 6);
  });

  it('a floating point TIFF is linear light', async () => {
    const samples = Float32Array.from({ length: 64 * 64 * 3 }, (_, i) => (i % 100) / 100);
    const bytes = await sharp(samples, { raw: { width: 64, height: 64, channels: 3 } })
      .toColourspace('scrgb')
      .tiff()
      .toBuffer();
    const header = await sharp(bytes).metadata();
    if (header.depth !== 'float') return;
    expect((await read(bytes)).encoding.response).toBe('linear');
  });
});

describe('a sound file of a kind that is not read', () => {
  it('is not called damaged: a TIFF of doubles (TIFF 6.0, SampleFormat 3 with 64 bits)', async () => {
    const entries = [
      [256, 4],
      [257, 4],
      [258, 64],
      [259, 1],
      [262, 1],
      [273, 256],
      [277, 1],
      [278, 4],
      [279, 128],
      [339, 3],
    ];
    const tiff = Buffer.alloc(256 + 128);
    tiff.write('II*\0', 'latin1');
    tiff.writeUInt32LE(8, 4);
    tiff.writeUInt16LE(entries.length, 8);
    entries.forEach(([tag, value], n) => {
      tiff.writeUInt16LE(tag!, 10 + n * 12);
      tiff.writeUInt16LE(4, 12 + n * 12);
      tiff.writeUInt32LE(1, 14 + n * 12);
      tiff.writeUInt32LE(value!, 18 + n * 12);
    });
    await expect(read(tiff)).rejects.toMatchObject({ code: 'unsupported-picture' });
  });
});

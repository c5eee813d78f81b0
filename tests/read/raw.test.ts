import { execFileSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { PaintstopError } from '../../src/errors.js';
import type { Frame } from '../../src/model/frame.js';
import { openFrame } from '../../src/read/readFrame.js';
import { CLIP_SAMPLE, develop, PEDESTAL, SCALE } from '../../src/read/raw/develop.js';
import type { Mosaic } from '../../src/read/raw/mosaic.js';
import { openMosaic, unpackRaw } from '../../src/read/raw/unpack.js';
import { encodeDng, sensorLight } from '../../src/scene/dng.js';
import { randomScene } from '../../src/scene/randomScene.js';
import { openScene, type Shot } from '../../src/scene/shoot.js';
import { builtUnpacker, dcrawMosaic, has, librawHere } from '../support/raw.js';
import { sharedFile } from '../support/shared.js';

const TAKEN = '2026:07:14 23:10:00';
const RAWS = ['daylight-rggb-12bit.cr2', 'daylight-1990s.kdc'];
let shot: Shot;
let dng: Uint8Array;
let libraw: Awaited<ReturnType<typeof librawHere>>;
let folder: string;

beforeAll(async () => {
  const spec = { ...randomScene(31, { widthPx: 900, heightPx: 600 }), headlamp: true };
  shot = openScene(spec).shoot({ ...spec.settings, iso: 6400 }, spec.lamps);
  dng = encodeDng(shot, TAKEN);
  libraw = await librawHere();
  folder = mkdtempSync(join(tmpdir(), 'paintstop-raw-'));
  writeFileSync(join(folder, 'x.dng'), dng);
});

afterAll(() => {
  rmSync(folder, { recursive: true, force: true });
});

async function read(bytes: Uint8Array): Promise<Frame> {
  const tools = { unpackRaw: (given: Uint8Array, file: string) => Promise.resolve(unpackRaw(libraw, given, file)) };
  return (await (await openFrame(bytes, 'x.dng', {}, tools)).frame).frame;
}

/** Oracle: dcraw 9.28 of Debian, option -D (the mosaic without any change). */
describe.skipIf(!has('dcraw'))('the mosaic equals dcraw -D -4 to the pixel', () => {
  const compare = (path: string): void => {
    const ours = openMosaic(libraw, readFileSync(path), path).mosaic;
    const theirs = dcrawMosaic(path);
    expect([ours.width, ours.height]).toEqual([theirs.width, theirs.height]);
    expect(ours.data.findIndex((value, i) => value !== theirs.data[i])).toBe(-1);
  };
  it('on a DNG of ours', () => {
    compare(join(folder, 'x.dng'));
  });
  it.each(RAWS)('on %s', (name) => {
    const path = sharedFile('raw', name);
    if (path === null) return;
    compare(path);
  });
});

/** Oracle: raw-identify of Debian's libraw-bin. */
describe.skipIf(!has('raw-identify'))('sizes, levels and settings as raw-identify -v says', () => {
  const figures = (path: string): Record<string, string | undefined> => {
    const text = execFileSync('raw-identify', ['-v', path], { encoding: 'utf8' });
    const find = (pattern: RegExp): string | undefined => pattern.exec(text)?.[1];
    return {
      size: find(/^Image size:\s+(\d+ x \d+)/m),
      iso: find(/^ISO speed: (\d+)/m),
      shutter: find(/^Shutter: (\S+)/m),
      aperture: find(/^Aperture: f\/(\S+)/m),
      focal: find(/^Focal length: (\S+)/m),
      pattern: find(/^Filter pattern: (\w{4})/m),
      black: find(/^cblack\[6 \.\. 9\]: ([\d ]+)/m) ?? find(/ChannelBlackLevel: ([\d ]+)/),
    };
  };
  it('on a DNG of ours', () => {
    const said = figures(join(folder, 'x.dng'));
    const { mosaic, metadata } = openMosaic(libraw, dng, 'x.dng');
    expect(`${String(mosaic.width)} x ${String(mosaic.height)}`).toBe(said['size']);
    expect(String(metadata.iso_speed)).toBe(said['iso']);
    expect(metadata.shutter).toBeCloseTo(Number(said['shutter']), 3);
    expect(metadata.aperture).toBeCloseTo(Number(said['aperture']), 1);
    expect(metadata.focal_len).toBeCloseTo(Number(said['focal']), 1);
    expect(mosaic.filters.values.map((colour) => 'RGB'[colour]).join('')).toBe(said['pattern']);
    expect(mosaic.black.values.join(' ')).toBe(said['black']?.trim());
    expect(mosaic.white).toEqual([15520, 15520, 15520]);
  });
  it('on a real 12-bit file with covered margins', async () => {
    const path = sharedFile('raw', RAWS[0]!);
    if (path === null) return;
    const said = figures(path);
    const unpacked = unpackRaw(libraw, readFileSync(path), path);
    expect(`${String(unpacked.widthPx)} x ${String(unpacked.heightPx)}`).toBe(said['size']);
    expect(unpacked.filters).toBe(said['pattern']);
    const black = said['black']!.trim().split(/\s+/).map(Number);
    unpacked.black.forEach((value) => {
      expect(Math.abs(value - (black[0]! + black[1]!) / 2)).toBeLessThan(1);
    });
    expect(unpacked.bits).toBe(12);
    const { settings } = await read(readFileSync(path));
    expect([settings.iso, settings.aperture, settings.focalMm]).toEqual([640, 22, 22]);
    expect(settings.shutterSeconds).toBeCloseTo(1 / 400, 5);
  });
});

/** A one-colour mosaic to see single numbers go through. */
function flat(values: readonly number[], flip = 0): Mosaic {
  const width = 16;
  return {
    data: Uint16Array.from({ length: width * 16 }, (_, i) => values[i % values.length]!),
    width,
    height: 16,
    filters: { rows: 2, columns: 2, values: [0, 1, 1, 2] },
    black: { rows: 1, columns: 1, values: [512] },
    blackRows: [],
    blackColumns: [],
    white: [15520, 15520, 15520],
    flip,
  };
}

describe('black and white level', () => {
  // DNG 1.7.1 (Adobe, 2023), chapter 5: (raw - black) / (white - black), then held at 1. Worked values: references, 9.3.
  it.each([
    [600, 0.0058635],
    [512, 0],
    [15520, 1],
  ])('raw %i is linear %f', (raw, linear) => {
    const { samples } = develop(flat([raw]), [15520, 15520, 15520]);
    expect((samples[8 * 16 * 3 + 8 * 3 + 1]! - PEDESTAL) / SCALE).toBeCloseTo(linear, 4);
  });
  it('keeps light under black level, so that dark means are not raised by noise', () => {
    const { samples } = develop(flat([502, 522]), [15520, 15520, 15520]);
    const mean = samples.reduce((sum, sample) => sum + (sample - PEDESTAL) / SCALE, 0) / samples.length;
    expect(Math.abs(mean)).toBeLessThan(2e-5);
  });
  it('clips at white level minus one percent of the range', () => {
    const at = (raw: number): boolean => develop(flat([raw]), [15520, 15520, 15520]).samples[400]! >= CLIP_SAMPLE;
    expect(at(15520 - 151)).toBe(false);
    expect(at(15520 - 149)).toBe(true);
  });
  it("finds the sensor's own clip point where the header's is wrong, and says so", async () => {
    const bytes = Uint8Array.from(dng);
    const view = new DataView(bytes.buffer);
    const entries = view.getUint16(8, true);
    for (let n = 0; n < entries; n++)
      if (view.getUint16(10 + n * 12, true) === 50717) view.setUint32(10 + n * 12 + 8, 16383, true);
    const right = await read(dng);
    const wrong = await read(bytes);
    expect(right.encoding.sensor?.whiteFrom).toBe('header');
    expect(wrong.encoding.sensor?.whiteFrom).toBe('data');
    expect(Math.max(...wrong.encoding.sensor!.white)).toBe(15520);
    expect(wrong.warnings.map((warning) => warning.code)).toContain('white-level-from-data');
  });
});

describe('linear light of the sites', () => {
  it('has the clipped part of each colour and the light of each site', async () => {
    const frame = await read(dng);
    const pixels = frame.widthPx * frame.heightPx;
    for (let c = 0; c < 3; c++) {
      let said = 0;
      let truly = 0;
      for (let i = 0; i < pixels; i++) {
        if (frame.samples[i * 3 + c]! >= frame.clipSample) said++;
        if (sensorLight(shot.light, i, c) >= 0.99) truly++;
      }
      expect(Math.abs(said - truly) / pixels).toBeLessThan(0.0005);
    }
    const middle = (300 * frame.widthPx + 450) * 3;
    const green = frame.toLinear[1][frame.samples[middle + 1]!]!;
    expect(green).toBeGreaterThan(-0.01);
  });
  it.each([
    [3, 0],
    [6, 1],
    [8, 2],
  ])('orientation %i comes out upright', async (orientation) => {
    const upright = await read(dng);
    const turned = await read(encodeDng(shot, TAKEN, orientation));
    const { widthPx: width, heightPx: height } = upright;
    expect([turned.widthPx, turned.heightPx]).toEqual(orientation === 3 ? [width, height] : [height, width]);
    // Exif orientation: 6 = turn a quarter clockwise to be upright, 8 = anticlockwise.
    for (const [x, y] of [
      [100, 80],
      [401, 333],
    ] as const) {
      const there =
        orientation === 3
          ? [width - 1 - x, height - 1 - y]
          : orientation === 6
            ? [height - 1 - y, x]
            : [y, width - 1 - x];
      const from = (y * width + x) * 3;
      const to = (there[1]! * turned.widthPx + there[0]!) * 3;
      expect([...turned.samples.subarray(to, to + 3)]).toEqual([...upright.samples.subarray(from, from + 3)]);
    }
  });
  it('reads the settings of the DNG', async () => {
    const { settings } = await read(dng);
    expect(settings.iso).toBe(6400);
    expect(settings.shutterSeconds).toBe(shot.settings.shutterSeconds);
    expect(settings.focalMm).toBe(shot.spec.focalMm);
    expect(settings.takenAt).toBe('2026-07-14T23:10:00+02:00');
  });
});

describe('a hostile raw file', () => {
  const broken: [string, () => Uint8Array][] = [
    ...[0.001, 0.01, 0.1, 0.3, 0.5, 0.7, 0.9, 0.99].map((part): [string, () => Uint8Array] => [
      `cut at ${String(part)}`,
      () => dng.subarray(0, Math.floor(dng.length * part)),
    ]),
    ['all zeros behind the header', () => Uint8Array.from(dng, (value, i) => (i < 900 ? value : 0))],
    ...[0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15].map((seed): [string, () => Uint8Array] => [
      `directory bytes changed, ${String(seed)}`,
      () => {
        const bytes = Uint8Array.from(dng);
        for (let n = 0; n < 12; n++) bytes[8 + ((seed * 131 + n * 37) % 340)] = (seed * 89 + n * 211) & 255;
        return bytes;
      },
    ]),
    ...[256, 257, 258, 259, 262, 273, 279, 277, 33421, 50713, 50717, 50829].flatMap(
      (tag): [string, () => Uint8Array][] =>
        [0, 0x7fffffff].map((value) => [
          `tag ${String(tag)} says ${String(value)}`,
          () => {
            const bytes = Uint8Array.from(dng);
            const view = new DataView(bytes.buffer);
            for (let n = 0; n < view.getUint16(8, true); n++)
              if (view.getUint16(10 + n * 12, true) === tag) view.setUint32(10 + n * 12 + 8, value, true);
            return bytes;
          },
        ]),
    ),
  ];
  it.each(broken)('%s: read, or one sentence', async (_, make) => {
    const unpack = await builtUnpacker();
    const outcome = await openFrame(make(), 'x.dng', {}, { unpackRaw: unpack })
      .then(async (opened) => (await opened.frame).frame.widthPx > 0)
      .catch((cause: unknown) => cause);
    // The built unpacker has an error class of its own.
    if (outcome instanceof Error) {
      expect(outcome.name).toBe(PaintstopError.name);
      expect(outcome.message).toMatch(/^x\.dng .+; .+\.$/);
      expect(outcome.message).not.toMatch(/undefined|NaN|\n/);
    } else expect(outcome).toBe(true);
  });
});

it('two hundred raws in a row do not grow memory', { timeout: 120_000 }, async () => {
  const unpack = await builtUnpacker();
  const small = randomScene(3, { widthPx: 300, heightPx: 200 });
  const bytes = encodeDng(openScene(small).shoot(small.settings, small.lamps), TAKEN);
  for (let n = 0; n < 20; n++) await unpack(bytes, 'x.dng');
  const before = process.memoryUsage().rss;
  for (let n = 0; n < 200; n++) await unpack(bytes, 'x.dng');
  expect((process.memoryUsage().rss - before) / 1e6).toBeLessThan(120);
});

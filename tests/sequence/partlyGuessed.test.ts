import { mkdtempSync, readdirSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import sharp from 'sharp';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { curveTables, type CurveRecord } from '../../src/calibration/cameraCurve.js';
import { keepCurves, knownCurves } from '../../src/machine/curveStore.js';
import { toneSampleOf } from '../../src/measure/toneSample.js';
import { REGION, type Grid } from '../../src/model/regions.js';
import { srgbToLinear } from '../../src/physics/encoding.js';
import { curveKeyOf } from '../../src/read/metadata.js';
import { openFrame } from '../../src/read/readFrame.js';

const NONE: ReadonlyMap<string, CurveRecord> = new Map();

function record(over: number, frames: readonly string[], partlyGuessed = false): CurveRecord {
  const bins = Array.from({ length: 250 }, (_, n) => n + 3).map((code) => ({
    code,
    stops: Math.log2(srgbToLinear(code / 255)) + over,
    weight: 40,
  }));
  return {
    key: 'Tarn 1',
    channels: [bins, bins, bins],
    errorStops: partlyGuessed ? 0.3 : 0.1,
    frames,
    ...(partlyGuessed && { partlyGuessed: true as const }),
  };
}

describe('a curve that is partly guessed', () => {
  let folder: string;
  beforeAll(() => {
    folder = mkdtempSync(join(tmpdir(), 'paintstop-'));
  });
  afterAll(() => {
    rmSync(folder, { recursive: true, force: true });
  });

  it('serves, and is not kept', async () => {
    const guess = record(-0.5, ['a', 'b'], true);
    expect((await keepCurves(folder, NONE, [guess])).get('Tarn 1')).toBe(guess);
    expect(readdirSync(folder)).toEqual([]);
    expect((await knownCurves(folder)).size).toBe(0);
  });

  it('gives way to one that is told, and never takes its place or a part of it', async () => {
    const told = record(-0.2, ['a', 'b', 'c']);
    const both = await keepCurves(folder, NONE, [record(-0.5, ['a', 'b'], true), told]);
    expect(both.get('Tarn 1')).toBe(told);
    const after = await keepCurves(folder, NONE, [record(-0.5, ['d', 'e'], true)]);
    expect(after.get('Tarn 1')).toEqual(told);
    expect((await knownCurves(folder)).get('Tarn 1')).toEqual(told);
  });
});

describe('a curve of a camera without a name', () => {
  it('serves the frames of the call, beside what else is learned, and is not kept', async () => {
    const folder = mkdtempSync(join(tmpdir(), 'paintstop-'));
    const exif = { IFD2: { ExposureTime: '20/1', FNumber: '28/10', ISOSpeedRatings: '1600' } };
    const picture = sharp({ create: { width: 64, height: 48, channels: 3, background: '#204060' } });
    const bytes = await picture.jpeg().withExif(exif).toBuffer();
    const unnamed = { ...record(-0.7, ['a', 'b']), key: await curveKeyOf(bytes) };
    const first = await keepCurves(folder, NONE, [unnamed]);
    const known = await keepCurves(folder, first, [record(-0.2, ['c', 'd'])]);
    expect(known.get(unnamed.key)).toBe(unnamed);
    expect([...(await knownCurves(folder)).keys()]).toEqual(['Tarn 1']);
    const { frame } = await (await openFrame(bytes, 'a.jpg', {}, { curves: known })).frame;
    expect(frame.encoding).toMatchObject({ response: 'camera', levelUncertaintyStops: 0.1 });
    rmSync(folder, { recursive: true, force: true });
  });
});

describe('a tone sample', () => {
  it('has the codes of the JPEG, whatever curve it was read by', () => {
    const tables = curveTables(record(-0.4, ['a']))!;
    const width = 20;
    const codes = Array.from({ length: width * 3 }, (_, i) => 12 + 4 * (i % 60));
    const planeOf = (table: (code: number) => number): Grid => {
      const plane = Float32Array.from(codes, table);
      return { width, height: 3, blockPx: 1, red: plane, green: plane, blue: plane, luminance: plane };
    };
    const mask = new Uint8Array(codes.length).fill(REGION.sky);
    const bySrgb = toneSampleOf(
      planeOf((code) => srgbToLinear(code / 255)),
      mask,
      null,
    );
    const byCurve = toneSampleOf(
      planeOf((code) => tables[0][code]!),
      mask,
      tables,
    );
    codes.forEach((code, i) => {
      expect(Math.abs(bySrgb.codes[i * 3]! / 257 - code)).toBeLessThan(0.1);
      expect(Math.abs(byCurve.codes[i * 3]! / 257 - code)).toBeLessThan(0.1);
    });
  });
});

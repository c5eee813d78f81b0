import { mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import sharp from 'sharp';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { curveTables, type CurveRecord } from '../../src/calibration/cameraCurve.js';
import type { Reading } from '../../src/model/reading.js';
import { sensorLight } from '../../src/scene/dng.js';
import { encodeShot } from '../../src/scene/encode.js';
import { linearToSrgb } from '../../src/physics/encoding.js';
import { randomScene } from '../../src/scene/randomScene.js';
import { openScene, type Shot } from '../../src/scene/shoot.js';
import { paintstop } from '../support/run.js';

const CURVE = { gainStops: 0.7, contrast: 0.4 };
let folder: string;
let config: string;
let shot: Shot;

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'paintstop-pair-'));
  config = join(folder, 'config');
  const spec = randomScene(36, { widthPx: 1500, heightPx: 1000 });
  shot = openScene(spec).shoot({ ...spec.settings, iso: 3200 }, spec.lamps);
  mkdirSync(join(folder, 'card'));
  mkdirSync(join(folder, 'lone'));
  writeFileSync(join(folder, 'card', 'moor-0001.DNG'), await encodeShot(shot, 'raw'));
  const jpeg = await encodeShot(shot, 'camera', CURVE);
  writeFileSync(join(folder, 'card', 'moor-0001.jpg'), jpeg);
  writeFileSync(join(folder, 'lone', 'moor-0002.jpg'), jpeg);
});

afterAll(() => {
  rmSync(folder, { recursive: true, force: true });
});

function read(...files: string[]): Reading[] {
  const ran = paintstop(['frame', ...files.map((file) => join(folder, file)), '--json'], { XDG_CONFIG_HOME: config });
  expect(ran.status).toBe(0);
  return ran.out
    .trim()
    .split('\n')
    .map((line) => JSON.parse(line) as Reading);
}

describe('a raw file and its JPEG', () => {
  let raw: Reading;
  it('before any pair was seen, a JPEG is read as sRGB', () => {
    const [lone] = read('lone/moor-0002.jpg');
    expect(lone!.encoding.response).toBe('srgb');
  });
  it('a JPEG that is given alone says that its raw lies beside it; one without a raw does not', () => {
    const codes = (reading: Reading | undefined): string[] => reading!.warnings.map(({ code }) => code);
    expect(codes(read('card/moor-0001.jpg')[0])).toContain('raw-beside');
    expect(codes(read('lone/moor-0002.jpg')[0])).not.toContain('raw-beside');
  });
  it('are one frame, measured on the raw', () => {
    const readings = read('card/moor-0001.DNG', 'card/moor-0001.jpg');
    expect(readings).toHaveLength(1);
    raw = readings[0]!;
    expect(raw.encoding.container).toBe('raw');
    expect(raw.pair?.file).toBe('moor-0001.jpg');
  });
  it('show how much of the clipping of the JPEG the raw still holds', () => {
    const { clean } = shot.truth;
    let clipped = 0;
    let held = 0;
    // The curve's shoulder reaches code 254 before the sensor saturates: where, is the curve's own arithmetic.
    for (let i = 0; i < clean.length / 3; i++) {
      if (![0, 1, 2].some((c) => toneOf(shot.light[i * 3 + c]!) >= 253.5 / 255)) continue;
      clipped++;
      if (![0, 1, 2].some((c) => sensorLight(shot.light, i, c) >= 0.99)) held++;
    }
    // JPEG's own ringing moves a few of them.
    expect(Math.abs(raw.pair!.clippedFraction / (clipped / (clean.length / 3)) - 1)).toBeLessThan(0.1);
    expect(Math.abs(raw.pair!.recoverable! - held / clipped)).toBeLessThan(0.2);
  });
  it("give the camera's curve: within 0.1 stop from -6 to -0.5 stops where the frame shows it", () => {
    const stored = JSON.parse(readFileSync(join(config, 'paintstop', 'curves.json'), 'utf8')) as {
      curves: CurveRecord[];
    };
    const tables = curveTables(stored.curves[0]!)!;
    const misses: number[] = [];
    for (let stops = -6; stops <= -0.5; stops += 0.25) {
      const code = toneOf(2 ** stops) * 255;
      const low = Math.floor(code);
      const light = tables[1][low]! + (tables[1][low + 1]! - tables[1][low]!) * (code - low);
      misses.push(Math.abs(Math.log2(light) - stops));
    }
    misses.sort((a, b) => a - b);
    expect(misses[Math.floor(misses.length * 0.8)]).toBeLessThan(0.1);
  });
  it('make the lone JPEGs of that camera and mode read as exactly', () => {
    const [lone] = read('lone/moor-0002.jpg');
    expect(lone!.encoding.response).toBe('camera');
    expect(lone!.encoding.levelUncertaintyStops).toBeLessThan(0.2);
    expect(Math.abs(lone!.regions.sky.levelStops! - raw.regions.sky.levelStops!)).toBeLessThan(0.1);
  });
  it('a JPEG of another moment beside the raw is left out, and teaches nothing', async () => {
    mkdirSync(join(folder, 'mixed'));
    writeFileSync(join(folder, 'mixed', 'a.dng'), await encodeShot(shot, 'raw'));
    writeFileSync(join(folder, 'mixed', 'a.jpg'), await encodeShot(shot, 'camera', CURVE, '2026:07:14 23:59:00'));
    const before = readFileSync(join(config, 'paintstop', 'curves.json'), 'utf8');
    const [reading] = read('mixed/a.dng');
    expect(reading!.warnings.map(({ code }) => code)).toContain('pair-mismatch');
    expect(reading!.pair).toBeUndefined();
    expect(readFileSync(join(config, 'paintstop', 'curves.json'), 'utf8')).toBe(before);
  });
  it('a negative beside the raw teaches nothing either', async () => {
    const { data, info } = await sharp(await encodeShot(shot, 'camera', CURVE))
      .raw()
      .toBuffer({ resolveWithObject: true });
    const raw = { width: info.width, height: info.height, channels: 3 as const };
    writeFileSync(
      join(folder, 'mixed', 'a.jpg'),
      await sharp(
        data.map((v) => 255 - v),
        { raw },
      )
        .jpeg()
        .toBuffer(),
    );
    expect(read('mixed/a.dng')[0]!.pair?.curveErrorStops).toBeNull();
  });
  it.each([
    ['garbage', '{{', 'curves.json cannot be read and was left alone'],
    [
      'figures that no curve has',
      JSON.stringify({
        schema: 'paintstop.curves/1',
        curves: [
          {
            key: 'x',
            errorStops: 0.1,
            frames: [],
            channels: [0, 1, 2].map(() => [{ code: 300, stops: 1e308, weight: -1 }]),
          },
        ],
      }),
      '',
    ],
  ])('a store of curves with %s counts as none', (_, text, told) => {
    const other = join(folder, 'other-config');
    mkdirSync(join(other, 'paintstop'), { recursive: true });
    writeFileSync(join(other, 'paintstop', 'curves.json'), text);
    const ran = paintstop(['frame', join(folder, 'lone/moor-0002.jpg'), '--json'], { XDG_CONFIG_HOME: other });
    expect((JSON.parse(ran.out) as Reading).encoding.response).toBe('srgb');
    expect(ran.err).toContain(told);
    if (told !== '') expect(readFileSync(join(other, 'paintstop', 'curves.json'), 'utf8')).toBe(text);
    else expect(ran.err).toBe('');
  });
  it('a damaged raw beside a JPEG that was given too leaves the JPEG', () => {
    writeFileSync(join(folder, 'mixed', 'b.dng'), readFileSync(join(folder, 'mixed', 'a.dng')).subarray(0, 100_000));
    writeFileSync(join(folder, 'mixed', 'b.jpg'), readFileSync(join(folder, 'lone', 'moor-0002.jpg')));
    expect(read('mixed/b.dng', 'mixed/b.jpg').map(({ file }) => file)).toEqual(['b.jpg']);
  });
  it('a damaged JPEG beside the raw costs a note, not the frame', () => {
    writeFileSync(join(folder, 'card', 'moor-0001.jpg'), 'no picture');
    const [reading] = read('card/moor-0001.DNG');
    expect(reading!.warnings.map(({ code }) => code)).toContain('pair-unreadable');
  });
});

/** The scene's own camera curve, written out again: gain, shoulder above one half, sRGB, an S of contrast. */
function toneOf(light: number): number {
  const lifted = Math.min(1, Math.max(0, light)) * 2 ** CURVE.gainStops;
  const shoulder = (1 - Math.exp(-(lifted - 0.5) / 0.5)) / (1 - Math.exp(-(2 ** CURVE.gainStops - 0.5) / 0.5));
  const encoded = linearToSrgb(Math.min(1, lifted <= 0.5 ? lifted : 0.5 + 0.5 * shoulder));
  return encoded + CURVE.contrast * (encoded * encoded * (3 - 2 * encoded) - encoded);
}

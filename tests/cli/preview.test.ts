import { existsSync, mkdtempSync, readFileSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { PNG } from 'pngjs';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { Option } from '../../src/model/reading.js';
import { srgbToLinear } from '../../src/physics/encoding.js';
import { tonerOf } from '../../src/present/picture/previewPicture.js';
import { applyAdvice } from '../../src/scene/applyAdvice.js';
import { demoScene } from '../../src/scene/demoNight.js';
import { encodeShot } from '../../src/scene/encode.js';
import { openScene } from '../../src/scene/shoot.js';
import { paintstop } from '../support/run.js';
import { until, Watching } from '../support/watching.js';

let room: string;
const spec = demoScene(1296);
const scene = openScene(spec);
const lamps = spec.lamps.flatMap(({ name, kind, seconds, distanceM, power }) =>
  kind === 'held'
    ? ['--held', `${name}:${String(seconds)}s@${String(distanceM)}m*${String(power)}`]
    : ['--stand', `${name}@${String(distanceM)}m*${String(power)}`],
);

beforeAll(async () => {
  room = mkdtempSync(join(tmpdir(), 'paintstop-preview-'));
  writeFileSync(join(room, 'moor-1.tif'), await encodeShot(scene.shoot(spec.settings, spec.lamps, 1), 'srgb16'));
});
afterAll(() => {
  rmSync(room, { recursive: true, force: true });
});

/** Middle green of a part of a picture, 0 to 255. */
function middleOf(png: PNG, x0: number, x1: number, y0: number, y1: number): number {
  const values: number[] = [];
  for (let y = y0; y < y1; y += 2) for (let x = x0; x < x1; x += 2) values.push(png.data[(y * png.width + x) * 4 + 1]!);
  return values.sort((a, b) => a - b)[values.length >> 1]!;
}

describe('the next frame before it is shot', () => {
  it('is drawn by the curve that the frame was read by: code values come back as they were', () => {
    const sRgb = tonerOf(null);
    for (const code of [0, 1, 18, 64, 128, 200, 255]) {
      const light = srgbToLinear(code / 255);
      expect(sRgb([light, light, light])).toEqual([code, code, code]);
    }
    // A camera's curve: half a stop brighter than sRGB draws, flat to white; red steeper than the others.
    const table = (stops: number): Float32Array =>
      Float32Array.from({ length: 256 }, (_, n) => Math.min(1, srgbToLinear(n / 255) * 2 ** stops));
    const display = [table(-0.7), table(-0.5), table(-0.5)] as const;
    const camera = tonerOf(display);
    for (const code of [0, 1, 18, 64, 128, 200, 255]) {
      const light = display.map((own) => own[code]!) as [number, number, number];
      expect(camera(light)).toEqual([code, code, code]);
    }
    expect(camera([1, 1, 1])).toEqual([255, 255, 255]);
    expect(camera([9, 0, -1])).toEqual([255, 0, 0]);
  });

  it('looks like the frame that the advice then gives', async () => {
    const out = join(room, 'foretold.png');
    const ran = paintstop(['frame', join(room, 'moor-1.tif'), ...lamps, '--json', '--preview', out]);
    expect(ran.err).toBe(`wrote ${out}\n`);
    const { advice } = JSON.parse(ran.out) as { advice: { options: Option[] } };
    const after = applyAdvice(advice.options[0]!, spec.settings, spec.lamps);
    writeFileSync(join(room, 'moor-2.tif'), await encodeShot(scene.shoot(after.settings, after.lamps, 2), 'srgb16'));
    const came = join(room, 'came.png');
    paintstop(['frame', join(room, 'moor-2.tif'), '--preview', came]);
    const foretold = PNG.sync.read(readFileSync(out));
    const got = PNG.sync.read(readFileSync(came));
    // Two pictures with a gap of 8 between them: the foretold one stands right, the one that came left.
    const width = (foretold.width - 8) / 2;
    const height = Math.round((width * 2) / 3);
    for (const [x0, x1, y0, y1] of [
      [0.05, 0.95, 0.05, 0.3],
      [0.35, 0.7, 0.5, 0.75],
      [0.05, 0.95, 0.85, 0.98],
    ] as const) {
      const at = [x0 * width, x1 * width, y0 * height, y1 * height].map(Math.round) as [number, number, number, number];
      const said = middleOf(foretold, at[0] + width + 8, at[1] + width + 8, at[2], at[3]);
      const is = middleOf(got, ...at);
      // A fifth of a stop is about a twelfth of an sRGB value.
      expect(Math.abs(said - is)).toBeLessThan(0.09 * is + 2);
    }
  });

  it('refuses to draw over a frame, and over anything that is not its own', () => {
    const frame = join(room, 'moor-1.tif');
    const before = statSync(frame).mtimeMs;
    expect(paintstop(['frame', frame, '--preview', frame]).status).toBe(2);
    writeFileSync(join(room, 'mine.png'), 'mine');
    expect(paintstop(['frame', frame, '--preview', join(room, 'mine.png')]).status).toBe(2);
    expect(readFileSync(join(room, 'mine.png'), 'utf8')).toBe('mine');
    expect(statSync(frame).mtimeMs).toBe(before);
  });

  it('is drawn anew after each answer of watch', async () => {
    const folder = mkdtempSync(join(room, 'in-'));
    const out = join(room, 'next.png');
    const own = new Watching(folder, mkdtempSync(join(room, 'home-')), [...lamps, '--preview', out]);
    await own.ready();
    writeFileSync(join(folder, 'moor-1.tif'), readFileSync(join(room, 'moor-1.tif')));
    await until(() => own.arrivals.length === 1 && existsSync(out));
    expect(PNG.sync.read(readFileSync(out)).width).toBeGreaterThan(1000);
    own.kill('SIGTERM');
    expect(await own.ended).toBe(0);
  });
});

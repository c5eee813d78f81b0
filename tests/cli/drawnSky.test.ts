import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import sharp from 'sharp';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { encodeShot } from '../../src/scene/encode.js';
import type { Reading } from '../../src/model/reading.js';
import { paintstop } from '../support/run.js';
import { shoot, smallScene } from '../support/scenes.js';

let folder: string;
let frame: string;
let size: { widthPx: number; heightPx: number };

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'paintstop-'));
  frame = join(folder, 'moor.jpg');
  const spec = smallScene(38, { skyStops: -5 });
  size = spec;
  writeFileSync(frame, await encodeShot(shoot(spec), 'jpeg'));
});
afterAll(() => {
  rmSync(folder, { recursive: true, force: true });
});

const reading = (...options: string[]): Reading =>
  JSON.parse(paintstop(['frame', frame, '--json', ...options]).out) as Reading;

describe('who tells sky from ground', () => {
  it('is the network, or the method without it when asked', () => {
    expect(reading().segmentation.by).toBe('learned');
    expect(reading('--segmenter', 'classical').segmentation.by).toBe('classical');
    const wrong = paintstop(['frame', frame, '--segmenter', 'best']);
    expect(wrong.status).toBe(2);
    expect(wrong.err).toContain('learned');
  });

  it('is the photographer, with a line or a picture, which agree', async () => {
    const { widthPx, heightPx } = size;
    const half = Math.round(heightPx / 2);
    const mask = join(folder, 'sky.png');
    const black = { width: widthPx, height: heightPx - half, channels: 3 as const, background: '#000' };
    await sharp({ create: { width: widthPx, height: heightPx, channels: 3, background: '#fff' } })
      .composite([{ input: await sharp({ create: black }).png().toBuffer(), left: 0, top: half }])
      .png()
      .toFile(mask);
    const byLine = reading('--horizon', `0,${String(half)} ${String(widthPx)},${String(half)}`);
    const byMask = reading('--sky-mask', mask);
    for (const own of [byLine, byMask]) expect(own.segmentation).toEqual({ by: 'hand', confidence: 1 });
    expect(byLine.regions.sky.areaFraction).toBeCloseTo(0.5, 1);
    expect(byMask.regions.sky.areaFraction).toBeCloseTo(byLine.regions.sky.areaFraction, 2);
    expect(byMask.regions.sky.levelStops!).toBeCloseTo(byLine.regions.sky.levelStops!, 1);
  });

  it('says in a sentence what is wrong with a drawing', async () => {
    const tall = join(folder, 'tall.png');
    await sharp({ create: { width: 100, height: 300, channels: 3, background: '#fff' } })
      .png()
      .toFile(tall);
    const text = join(folder, 'sky.txt');
    writeFileSync(text, 'white above, black below\n');
    const gone = join(folder, 'gone.png');
    const empty = join(folder, 'empty.png');
    writeFileSync(empty, '');
    for (const [file, words] of [
      [tall, 'does not fit'],
      [text, 'is no picture'],
      [gone, 'gone.png'],
      [empty, 'is no picture'],
      [folder, 'cannot be read'],
      [frame, 'grey or see-through'],
    ] as const) {
      const ran = paintstop(['frame', frame, '--sky-mask', file]);
      expect(ran.err).toContain(words);
      expect(ran.err).not.toContain('    at ');
      expect(ran.status).not.toBe(0);
    }
    for (const [line, words] of [
      ['0,1 2', '2 is no point'],
      ['5,5', 'one point'],
      ['0x10,3 4,5', '0x10,3 is no point'],
    ] as const) {
      const ran = paintstop(['frame', frame, '--horizon', line]);
      expect(ran.status).toBe(2);
      expect(ran.err).toContain(words);
    }
    const both = paintstop(['frame', frame, '--horizon', '0,9 9,9', '--sky-mask', tall]);
    expect(both.status).toBe(2);
    expect(both.err).toContain('give one of them');
  });

  it('notes a drawing that is upside down, and a line that misses the frame', async () => {
    const { widthPx, heightPx } = size;
    const half = Math.round(heightPx / 2);
    const white = { width: widthPx, height: heightPx - half, channels: 3 as const, background: '#fff' };
    const low = await sharp({ create: { width: widthPx, height: heightPx, channels: 3, background: '#000' } })
      .composite([{ input: await sharp({ create: white }).png().toBuffer(), left: 0, top: half }])
      .png()
      .toBuffer();
    const inverted = join(folder, 'inverted.png');
    writeFileSync(inverted, low);
    const codes = (own: Reading): string[] => own.warnings.map(({ code }) => code);
    expect(codes(reading('--sky-mask', inverted))).toContain('inverted-sky-mask');
    // The same picture, to be shown turned by half a turn: its tag is obeyed.
    const turned = join(folder, 'turned.jpg');
    await sharp(low).withMetadata({ orientation: 3 }).jpeg().toFile(turned);
    expect(codes(reading('--sky-mask', turned))).not.toContain('inverted-sky-mask');
    expect(codes(reading('--horizon', '0,5 40,5'))).toContain('odd-horizon');
    expect(codes(reading('--horizon', `0,${String(half)} ${String(widthPx)},${String(half)}`))).not.toContain(
      'odd-horizon',
    );
  });

  it('start-up does not pay for the network', () => {
    // Loading TensorFlow.js takes longer than all of --version.
    const trace = paintstop(['--version'], { NODE_DEBUG: 'module' });
    expect(trace.status).toBe(0);
    expect(trace.err).not.toContain('tfjs');
  });
});

import { beforeAll, describe, expect, it } from 'vitest';
import { REGION } from '../../src/model/regions.js';
import { DEFAULT_WISHES } from '../../src/model/wishes.js';
import { readOneFrame, type FrameResult } from '../../src/pipeline/readOneFrame.js';
import { encodeShot } from '../../src/scene/encode.js';
import { FOREGROUND_KINDS } from '../../src/scene/spec.js';
import type { Shot } from '../../src/scene/shoot.js';
import { shoot, smallScene } from '../support/scenes.js';

async function read(shot: Shot): Promise<FrameResult> {
  return readOneFrame(await encodeShot(shot, 'jpeg'), 'scene', {}, [], DEFAULT_WISHES);
}

function overlap(shot: Shot, result: FrameResult, value: number): number {
  let both = 0;
  let either = 0;
  shot.truth.mask.forEach((truth, i) => {
    const said = result.regions.fineMask[i] === value;
    if (truth === value && said) both++;
    if (truth === value || said) either++;
  });
  return both / either;
}

describe('regions of each kind of foreground', () => {
  it.each(FOREGROUND_KINDS.map((kind, n) => [kind, n] as const))('%s', async (_, n) => {
    const shot = shoot(smallScene(36 + n));
    expect(overlap(shot, await read(shot), REGION.sky)).toBeGreaterThan(0.93);
  });
});

describe('sources', () => {
  let shot: Shot;
  let result: FrameResult;
  beforeAll(async () => {
    const spec = smallScene(38);
    shot = shoot({
      ...spec,
      blade: true,
      headlamp: true,
      ambientStops: -3,
      skyStops: -4.5,
      moon: false,
      lamps: spec.lamps.map((lamp) => ({ ...lamp, levelStops: -3.5, visible: lamp.kind === 'stand' })),
    });
    result = await read(shot);
  });

  it('a blade is found as a streak', () => {
    expect(result.regions.sources.map((source) => source.kind)).toContain('streak');
    expect(result.reading.clips.map((clip) => clip.cause)).toContain('source');
  });

  it('sources are in no region: their burnt light is not counted as clipped paint', () => {
    expect(result.reading.regions.painted.clipped.any).toBeLessThan(0.01);
  });
});

describe('odd frames', () => {
  it.each([
    ['black', 0],
    ['white', 255],
    ['grey', 60],
  ])('all %s is read without a number that is not one', async (_, value) => {
    const sharp = (await import('sharp')).default;
    const bytes = await sharp({
      create: { width: 900, height: 600, channels: 3, background: { r: value, g: value, b: value } },
    })
      .jpeg()
      .toBuffer();
    const { reading } = await readOneFrame(bytes, 'even.jpg', {}, [], DEFAULT_WISHES);
    expect(JSON.stringify(reading)).not.toMatch(/NaN|Infinity/);
    expect(reading.stars.cause).toBe('too-few');
  });

  it('a thumbnail says that it is too small', async () => {
    const sharp = (await import('sharp')).default;
    const bytes = await sharp({ create: { width: 8, height: 8, channels: 3, background: '#123456' } })
      .png()
      .toBuffer();
    const { reading } = await readOneFrame(bytes, 'tiny.png', {}, [], DEFAULT_WISHES);
    expect(reading.advice.verdict).toBe('unreadable');
    expect(reading.warnings.map((warning) => warning.code)).toContain('too-small');
  });
});

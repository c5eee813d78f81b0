import { PNG } from 'pngjs';
import { describe, expect, it } from 'vitest';
import type { Option } from '../../src/model/reading.js';
import { DEFAULT_WISHES } from '../../src/model/wishes.js';
import { readOneFrame } from '../../src/pipeline/readOneFrame.js';
import { framePicture } from '../../src/present/picture/framePicture.js';
import { encodeShot } from '../../src/scene/encode.js';
import { shoot, smallScene } from '../support/scenes.js';

const OPTION: Option = {
  says: 'Back at 9 m.',
  changes: [{ what: 'lampDistance', light: 'back', from: 6, to: 9, factor: 0.44 }],
  predicted: { skyStops: -4, paintedStops: -2.5, balanceStops: 1.5, paintedClippedFraction: 0, trailPx: 2 },
  walks: 0,
  why: 'so',
};

describe('the picture of a frame', () => {
  it('has lines for the cautions where its advice costs a walk', async () => {
    const bytes = await encodeShot(shoot(smallScene(4, { widthPx: 480, heightPx: 320 })), 'jpeg');
    const { reading, grid, regions, shapes } = await readOneFrame(bytes, 'moor-0412.jpg', {}, [], DEFAULT_WISHES, {});
    const heightOf = (walks: number): number => {
      const advice = { verdict: 'adjust', summary: OPTION.says, options: [{ ...OPTION, walks }], limit: null } as const;
      return PNG.sync.read(framePicture({ ...reading, advice }, grid, regions, shapes)).height;
    };
    expect(heightOf(1)).toBeGreaterThan(heightOf(0));
  });
});

import { expect, it } from 'vitest';
import { seededRandom } from '../../src/math/random.js';
import { DEFAULT_WISHES } from '../../src/model/wishes.js';
import { readOneFrame } from '../../src/pipeline/readOneFrame.js';
import { teachFrame } from '../../src/pipeline/teachFrame.js';
import { encodeShot } from '../../src/scene/encode.js';
import { shoot, smallScene } from '../support/scenes.js';

it('a frame whose data are damaged is unreadable, and teaches nothing', async () => {
  const bytes = await encodeShot(shoot(smallScene(7)), 'jpeg');
  const random = seededRandom(7);
  const from = Math.floor(bytes.length / 3);
  for (let n = 0; n < 300; n++)
    bytes[Math.floor(random.between(from, bytes.length - 2))] = Math.floor(random.between(0, 254));
  const result = await readOneFrame(bytes, 'hut.jpg', {}, [], DEFAULT_WISHES);
  expect(result.reading.warnings.map(({ code }) => code)).toContain('damaged-data');
  expect(result.reading.advice).toMatchObject({ verdict: 'unreadable', options: [] });
  const { findings, doubt } = teachFrame(result, [], DEFAULT_WISHES, null);
  expect(findings).toEqual([]);
  expect(doubt).toContain('damaged');
});

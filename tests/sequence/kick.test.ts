import sharp from 'sharp';
import { beforeAll, describe, expect, it } from 'vitest';
import { glanceAt } from '../../src/measure/glance.js';
import { lightMapOf } from '../../src/measure/lightMap.js';
import type { FrameRecord } from '../../src/model/night.js';
import { DEFAULT_WISHES } from '../../src/model/wishes.js';
import { advisedAgain } from '../../src/pipeline/answerFrame.js';
import type { Tried } from '../../src/pipeline/lampsApart.js';
import { readOneFrame } from '../../src/pipeline/readOneFrame.js';
import { encodeShot } from '../../src/scene/encode.js';
import { randomScene } from '../../src/scene/randomScene.js';
import { openScene } from '../../src/scene/shoot.js';
import { groupFrames } from '../../src/sequence/groupSetups.js';
import { shiftBetween } from '../../src/sequence/sameFraming.js';

/** A larger picture is cut out of, so that a kick of so many pixels is true by construction; the second try is in other light. */
const [WIDTH, HEIGHT] = [1296, 864];

async function cut(jpeg: Uint8Array, x: number, y: number): Promise<FrameRecord & Pick<Tried, 'map'>> {
  const bytes = await sharp(jpeg)
    .extract({ left: 50 + x, top: 30 + y, width: WIDTH, height: HEIGHT })
    .jpeg({ quality: 95 })
    .toBuffer();
  const { reading, grid, regions } = await readOneFrame(bytes, 'cut.jpg', {}, [], DEFAULT_WISHES);
  const map = lightMapOf(grid, regions);
  return { file: 'cut.jpg', reading, glance: glanceAt(grid, regions), widestAperture: null, thumbnail: '', map };
}

describe.each([67034])('a tripod that is kicked, scene %i', (seed) => {
  let before: Awaited<ReturnType<typeof cut>>;
  let after: Uint8Array;
  beforeAll(async () => {
    const spec = randomScene(seed, { widthPx: WIDTH + 104, heightPx: HEIGHT + 76 });
    const scene = openScene(spec);
    before = await cut(await encodeShot(scene.shoot(spec.settings, spec.lamps), 'jpeg'), 0, 0);
    const lamps = spec.lamps.map((lamp) => ({ ...lamp, seconds: lamp.seconds * 0.5, power: lamp.power * 0.5 }));
    const settings = { ...spec.settings, iso: spec.settings.iso === 1600 ? 3200 : 1600 };
    after = await encodeShot(scene.shoot(settings, lamps, 2), 'jpeg');
  }, 60_000);

  it('stays one setup while it stands, and when it gives by half a percent', async () => {
    for (const [x, y] of [
      [0, 0],
      [6, 0],
      [0, -6],
    ] as const) {
      const grouped = groupFrames([before, await cut(after, x, y)]);
      expect(grouped.map(({ setup }) => setup)).toEqual([1, 1]);
      expect(grouped[1]!.kick).toBeNull();
    }
  });

  it('begins a new setup when it moves by one percent or more, and says by how much', async () => {
    for (const [x, y] of [
      [15, 4],
      [26, -8],
      [40, 15],
    ] as const) {
      const grouped = groupFrames([before, await cut(after, x, y)]);
      expect(grouped.map(({ setup }) => setup)).toEqual([1, 2]);
      // Four cells of the glance either way are looked for; beyond, it is another framing.
      if (grouped[1]!.kick !== null) expect(Math.abs(grouped[1]!.kick.movedPx - Math.hypot(x, y))).toBeLessThan(5);
    }
    expect(groupFrames([before, await cut(after, 15, 4)])[1]!.kick).not.toBeNull();
  });

  it('is told in the reading of a frame that is given with its earlier tries', async () => {
    const seen = [before, await cut(after, 15, 4)].map((own) => ({ record: own, map: own.map }));
    const codes = (tries: typeof seen): string[] =>
      advisedAgain(tries.at(-1)!.record, [], DEFAULT_WISHES, [], tries).warnings.map(({ code }) => code);
    expect(codes(seen)).toContain('tripod-moved');
    expect(codes(seen.slice(0, 1))).not.toContain('tripod-moved');
  });

  it('is taken up again when it is put back', async () => {
    const grouped = groupFrames([before, await cut(after, 26, -8), await cut(after, 0, 0)]);
    expect(grouped.map(({ setup }) => setup)).toEqual([1, 2, 1]);
  });

  it('measures the move to a part of a cell', async () => {
    const { dx, dy } = shiftBetween(before.glance, (await cut(after, 13, 4)).glance);
    const cellPx = WIDTH / before.glance.width;
    expect(Math.hypot(dx * cellPx + 13, dy * cellPx + 4)).toBeLessThan(4);
  });
});

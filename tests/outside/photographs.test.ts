import { readFileSync } from 'node:fs';
import sharp from 'sharp';
import { describe, expect, it } from 'vitest';
import { DEFAULT_WISHES } from '../../src/model/wishes.js';
import { REGION } from '../../src/model/regions.js';
import { skyNetwork } from '../../src/machine/skyNetwork.js';
import { readOneFrame, type FrameResult } from '../../src/pipeline/readOneFrame.js';
import { sharedFile, SHARED_ABSENT } from '../support/shared.js';

const PHOTOS = sharedFile('photos');

async function read(name: string): Promise<FrameResult> {
  return readOneFrame(readFileSync(sharedFile('photos', `${name}.jpg`)!), `${name}.jpg`, {}, [], DEFAULT_WISHES, {
    network: skyNetwork,
  });
}

/** Intersection over union of our sky with the photograph's mask (white = sky). */
async function skyOverlap(name: string, result: FrameResult): Promise<number> {
  const { widthPx, heightPx } = result.frame;
  const mask = await sharp(readFileSync(sharedFile('photos', `${name}.sky.png`)!))
    .resize(widthPx, heightPx, { fit: 'fill', kernel: 'nearest' })
    .removeAlpha()
    .extractChannel(0)
    .raw()
    .toBuffer();
  let both = 0;
  let either = 0;
  for (let i = 0; i < mask.length; i++) {
    const truly = mask[i]! > 127;
    const said = result.regions.fineMask[i] === REGION.sky;
    if (truly && said) both++;
    if (truly || said) either++;
  }
  return both / either;
}

// Masks by other people's models, good to 1 or 2 % of the area (sources: the folder's README). The floors are just under what is
// achieved; the kept network has seen these photographs in training (docs/regions.md has the figures of networks that had not).
describe.skipIf(PHOTOS === null)(PHOTOS === null ? SHARED_ABSENT : 'real photographs of night skies', () => {
  it.each([
    ['standing-figure', 0.99],
    ['street-193508', 0.985],
    ['street-200714', 0.985],
    ['dome-trails-180s', 0.99],
    ['lit-tree-cloud', 0.94],
  ])('%s: sky overlaps its mask by at least %f', async (name, least) => {
    expect(await skyOverlap(name, await read(name))).toBeGreaterThan(least);
  });

  it('dome-trails-180s: trails as long as the sidereal rate says', async () => {
    const { reading } = await read('dome-trails-180s');
    const { settings, stars } = reading;
    expect(settings).toMatchObject({ shutterSeconds: 180, aperture: 1.6, iso: 200 });
    // On the axis at the equator: 15.041 arcsec/s x 180 s / (206.265 x pitch / focal) pixels; stars off the equator draw less.
    const equator = (15.041 * 180) / ((206.265 * settings.pixelPitchUm!) / settings.focalMm!);
    expect(stars.elongationPx!).toBeLessThan(equator * 1.35);
    expect(stars.elongationPx!).toBeGreaterThan(equator * 0.4);
    expect(stars.overLimitFraction!).toBeGreaterThan(0.7);
  });

  it('posts-34s: settings are read, clipping has causes, and the reading is whole', async () => {
    const { reading } = await read('posts-34s');
    expect(reading.settings).toMatchObject({ iso: 200, shutterSeconds: 34.6, aperture: 3.5, focalMm: 18 });
    expect(reading.clips.length).toBeGreaterThan(0);
    expect(reading.clips[0]!.areaPx).toBeGreaterThanOrEqual(reading.clips[reading.clips.length - 1]!.areaPx);
    expect(reading.advice.verdict).not.toBe('unreadable');
  });

  it('frames without lens data say so and still measure', async () => {
    const { reading } = await read('ridge-trails');
    expect(reading.warnings.map((warning) => warning.code)).toContain('no-lens-data');
    expect(reading.stars.limit.trailPxAllowed).toBeNull();
    expect(reading.regions.sky.areaFraction).toBeGreaterThan(0.5);
  });
});

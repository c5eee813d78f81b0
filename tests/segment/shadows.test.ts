import { describe, expect, it } from 'vitest';
import { boxBlur } from '../../src/math/raster.js';
import { seededRandom } from '../../src/math/random.js';
import { REGION } from '../../src/model/regions.js';
import { leaveOutShadows } from '../../src/segment/shadows.js';

const [WIDTH, HEIGHT] = [120, 80];
const AMBIENT = -7;

/** Painted ground of one level with upright shadows that hold ambient light alone, `every` blocks apart and eight wide, and grain. Invented. */
function striped(litStops: number, every: number): { mask: Uint8Array; isShadow: (i: number) => boolean } {
  const random = seededRandom(5);
  const isShadow = (i: number): boolean => (i % WIDTH) % every < 8;
  const luminance = Float32Array.from(
    { length: WIDTH * HEIGHT },
    (_, i) => 2 ** (isShadow(i) ? AMBIENT : litStops) * (1 + 0.2 * random.gaussian()),
  );
  const mask = new Uint8Array(WIDTH * HEIGHT).fill(REGION.painted);
  const around = boxBlur(luminance, WIDTH, HEIGHT, 6).map(Math.log2);
  leaveOutShadows({ width: WIDTH, luminance }, mask, around, AMBIENT);
  return { mask, isShadow };
}

describe('shadows in the paint', () => {
  it('are unlit, and the paint between them stays', () => {
    const { mask, isShadow } = striped(-3, 24);
    const wrong = [...mask].filter((own, i) => (own === REGION.unlit) !== isShadow(i)).length;
    // One of eight blocks on either side of a shadow has light of the paint in its average: 2 of 24.
    expect(wrong / mask.length).toBeLessThan(0.1);
  });

  it('are none where paint is evenly dim, be ambient light told too bright', () => {
    const { mask } = striped(AMBIENT + 0.6, 1000);
    expect([...mask].filter((own) => own === REGION.unlit).length / mask.length).toBeLessThan(0.02);
  });
});

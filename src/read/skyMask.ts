import sharp from 'sharp';
import { PaintstopError } from '../errors.js';
import type { Grid } from '../model/regions.js';

/** Frame and drawing may differ in shape by this much: a saved copy is rounded to whole pixels. */
const SHAPE_SLACK = 0.02;

/**
 * Sky (1) of every block from a picture that is white on the sky and black on the ground, of any size but of the upright frame's shape.
 * Throws PaintstopError where it is no picture, or another shape.
 */
export async function readSkyMask(bytes: Uint8Array, file: string, grid: Grid): Promise<Uint8Array> {
  const { width, height } = await sharp(bytes)
    .metadata()
    .catch(() => {
      throw new PaintstopError('sky-mask', `${file} is no picture, so that it shows no sky`);
    });
  if (Math.abs(Math.log(width / height / (grid.width / grid.height))) > SHAPE_SLACK)
    throw new PaintstopError(
      'sky-mask',
      `${file} is ${String(width)} x ${String(height)}, another shape than the upright frame's`,
    );
  const values = await sharp(bytes)
    .flatten({ background: 'black' })
    .toColourspace('b-w')
    .resize(grid.width, grid.height, { fit: 'fill', kernel: 'linear' })
    .extractChannel(0)
    .raw()
    .toBuffer()
    .catch(() => {
      throw new PaintstopError('sky-mask', `${file} cannot be read`);
    });
  return Uint8Array.from(values, (value) => (value > 127 ? 1 : 0));
}

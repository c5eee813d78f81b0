import sharp, { type Sharp } from 'sharp';
import { PaintstopError } from '../errors.js';
import type { Warning } from '../model/frame.js';
import type { Grid } from '../model/regions.js';
import { MOST_PIXELS } from './decode.js';

/** Frame and drawing may differ in shape by this much: a saved copy is rounded to whole pixels. */
const SHAPE_SLACK = 0.02;

/** A drawing is black and white but for its edges; more grey than this is worth a word, much more is a photograph. */
const GREY_NOTED = 0.02;
const GREY_REFUSED = 0.2;
const BLACK = 48;
const WHITE = 207;

/**
 * Sky (1) of every block from a picture that is white on the sky and black on the ground, of any size but of the upright frame's shape
 * (its own orientation tag is obeyed; what is see-through counts as grey). Throws PaintstopError where it is no picture, of another
 * shape, or mostly grey.
 */
export async function readSkyMask(
  bytes: Uint8Array,
  file: string,
  grid: Grid,
  frame: { readonly file: string; readonly widthPx: number; readonly heightPx: number },
): Promise<{ sky: Uint8Array; warnings: Warning[] }> {
  const { data, width, height } = await decoded(bytes, file, grid);
  if (Math.abs(Math.log(width / height / (frame.widthPx / frame.heightPx))) > SHAPE_SLACK)
    throw new PaintstopError(
      'sky-mask',
      `${file} is ${String(width)} x ${String(height)} and does not fit ${frame.file}, which upright is ${String(frame.widthPx)} x ${String(frame.heightPx)}`,
    );
  let grey = 0;
  for (const value of data) if (value > BLACK && value < WHITE) grey++;
  const share = grey / data.length;
  if (share > GREY_REFUSED)
    throw new PaintstopError(
      'sky-mask',
      `${file} is grey or see-through over ${String(Math.round(share * 100))} % of it, so that it does not say where the sky is`,
    );
  const sky = Uint8Array.from(data, (value) => (value > 127 ? 1 : 0));
  return { sky, warnings: doubts(file, sky, share, grid) };
}

async function decoded(
  bytes: Uint8Array,
  file: string,
  grid: Grid,
): Promise<{ data: Buffer; width: number; height: number }> {
  try {
    const open = (): Sharp => sharp(bytes, { limitInputPixels: MOST_PIXELS });
    const { width, height, orientation = 1 } = await open().metadata();
    const data = await open()
      .autoOrient()
      .flatten({ background: '#808080' })
      .toColourspace('b-w')
      .resize(grid.width, grid.height, { fit: 'fill', kernel: 'linear' })
      .extractChannel(0)
      .raw()
      .toBuffer();
    return orientation >= 5 ? { data, width: height, height: width } : { data, width, height };
  } catch {
    throw new PaintstopError('sky-mask', `${file} is no picture that can be read, of at most 250 megapixels`);
  }
}

function doubts(file: string, sky: Uint8Array, grey: number, grid: Grid): Warning[] {
  const found: Warning[] = [];
  if (grey > GREY_NOTED)
    found.push({
      code: 'grey-sky-mask',
      message: `${file} is neither black nor white over ${(grey * 100).toFixed(0)} % of it; what is lighter than middle grey was taken for sky.`,
    });
  let [above, skies, below, grounds] = [0, 0, 0, 0];
  for (let i = 0; i < sky.length; i++) {
    const row = Math.floor(i / grid.width);
    if (sky[i] === 1) {
      above += row;
      skies++;
    } else {
      below += row;
      grounds++;
    }
  }
  if (skies > 0 && grounds > 0 && above / skies > below / grounds)
    found.push({
      code: 'inverted-sky-mask',
      message: `In ${file} the sky lies mostly under the ground: white is sky, black is ground (the pictures of --masks are the other way round).`,
    });
  return found;
}

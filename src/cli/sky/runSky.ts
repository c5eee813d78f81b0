import { starNames } from '../../calibration/brightStars.js';
import { PaintstopError, printable } from '../../errors.js';
import { refuseForeign, sameFile, writePng } from '../../machine/files.js';
import { skyOfFrame } from '../../pipeline/skyOfFrame.js';
import { isWanderer } from '../../physics/skyMotion.js';
import { skyAsJson } from '../../present/json.js';
import { skyPicture } from '../../present/picture/skyPicture.js';
import { skyAsText } from '../../present/sky/skyText.js';
import type { DrawnSkyOptions } from '../drawnSky.js';
import type { ReadingOptions } from '../readingOptions.js';
import { frameReader } from '../frameReader.js';
import { placeOptionsOf, type PlaceOptions } from '../placeOptions.js';
import type { World } from '../world.js';

export interface SkyOptions extends ReadingOptions, PlaceOptions, DrawnSkyOptions {
  readonly json?: boolean;
  readonly at?: { readonly x: number; readonly y: number };
  readonly body?: string;
  readonly picture?: string;
  readonly red?: boolean;
}

export async function runSky(file: string, options: SkyOptions, world: World): Promise<void> {
  const where = placeOptionsOf(options);
  const body = bodyOf(options.body);
  if (options.picture !== undefined && (await sameFile(file, options.picture)))
    throw new PaintstopError(
      'wrong-use',
      `${printable(options.picture)} is the frame to read`,
      'give another name for what is written',
    );
  if (options.picture !== undefined) await refuseForeign(options.picture);
  world.progress('reading ...');
  const read = await frameReader(options, world);
  const { result } = await read(file).finally(() => {
    world.progress(null);
  });
  const { widthPx, heightPx } = result.frame;
  if (options.at !== undefined && (options.at.x >= widthPx || options.at.y >= heightPx))
    throw new PaintstopError(
      'wrong-use',
      `--at ${String(options.at.x)},${String(options.at.y)} is outside the frame of ${String(widthPx)} x ${String(heightPx)} pixels`,
      'give a pixel inside it',
    );
  world.progress('reading the stars ...');
  const { reading } = skyOfFrame(result, { where, at: options.at ?? null, body });
  world.progress(null);
  world.out(
    options.json === true
      ? `${skyAsJson(reading)}\n`
      : skyAsText(reading, world.columns, world.look(options.red === true)),
  );
  if (options.picture !== undefined) {
    await writePng(options.picture, skyPicture(reading, result.grid, result.regions.mask));
    world.note(`wrote ${printable(options.picture)}`);
  }
}

/** A name that is known, as it is written. */
function bodyOf(name: string | undefined): string | null {
  if (name === undefined) return null;
  const low = name.toLowerCase();
  if (isWanderer(low) || low === 'core') return low;
  const star = starNames().find((own) => own.toLowerCase() === low);
  if (star === undefined)
    throw new PaintstopError(
      'wrong-use',
      `${name} is no body that is known`,
      'give moon, mercury, venus, mars, jupiter, saturn or a bright star like Vega or Antares',
    );
  return star;
}

import { knownCurves } from '../machine/curveStore.js';
import { configFolder } from '../machine/ownStore.js';
import { unpackRawApart } from '../machine/rawDecoder.js';
import { skyNetworkApart } from '../machine/skyNetworkApart.js';
import type { Tools } from '../pipeline/guidance.js';
import { drawnSkyOf, type DrawnSkyOptions } from './drawnSky.js';
import type { ReadingOptions } from './readingOptions.js';

/** What reading a frame borrows from the machine, by the options of the command line. */
export async function readTools(options: Pick<ReadingOptions, 'segmenter'> & DrawnSkyOptions = {}): Promise<Tools> {
  const drawn = await drawnSkyOf(options);
  return {
    unpackRaw: unpackRawApart,
    curves: await knownCurves(configFolder()),
    ...(options.segmenter !== 'classical' && { network: skyNetworkApart }),
    ...(drawn !== null && { drawn }),
  };
}

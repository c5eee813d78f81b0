import { PaintstopError } from '../errors.js';
import type { Warning } from '../model/frame.js';
import type { Grid } from '../model/regions.js';
import type { ReadTools } from '../read/readFrame.js';
import { readSkyMask } from '../read/skyMask.js';
import { skyAbove, type Point } from '../segment/drawnSky.js';
import { lookOf } from '../segment/learned/look.js';
import type { SkyNetwork } from '../segment/learned/network.js';
import { isTooSmall, type Guidance } from '../segment/segmentFrame.js';

/** Sky that the photographer drew: the line it ends at, or a picture of it, white on the sky. */
export type DrawnSky = { readonly horizon: readonly Point[] } | { readonly mask: Uint8Array; readonly file: string };

/** What reading a frame borrows from outside. */
export interface Tools extends ReadTools {
  /** The network for sky and ground; without it the method without training is used. */
  readonly network?: () => Promise<SkyNetwork>;
  readonly drawn?: DrawnSky;
}

/** What tells sky from ground in this frame. A network that cannot be opened is told as a warning. */
export async function guidanceFor(
  grid: Grid,
  { network, drawn }: Tools,
): Promise<{ guidance: Guidance; warnings: readonly Warning[] }> {
  if (isTooSmall(grid)) return { guidance: {}, warnings: [] };
  if (drawn !== undefined)
    return {
      guidance: {
        drawn: 'horizon' in drawn ? skyAbove(drawn.horizon, grid) : await readSkyMask(drawn.mask, drawn.file, grid),
      },
      warnings: [],
    };
  if (network === undefined) return { guidance: {}, warnings: [] };
  try {
    return { guidance: { sight: await (await network()).look(lookOf(grid)) }, warnings: [] };
  } catch (cause) {
    const why = cause instanceof PaintstopError ? cause.message : 'It cannot run on this machine.';
    const message = `Sky and ground were told apart without the network. ${why}`;
    return { guidance: {}, warnings: [{ code: 'no-network', message }] };
  }
}

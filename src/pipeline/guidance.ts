import { PaintstopError } from '../errors.js';
import type { Frame, Warning } from '../model/frame.js';
import type { Grid } from '../model/regions.js';
import type { ReadTools } from '../read/readFrame.js';
import { readSkyMask } from '../read/skyMask.js';
import { skyAbove, type Point } from '../segment/drawnSky.js';
import { buildCalmCells } from '../segment/cells.js';
import { lookOf } from '../segment/learned/look.js';
import type { SkyNetwork } from '../segment/learned/network.js';
import { isTooSmall, type Guidance } from '../segment/segmentFrame.js';

/** Sky that the photographer drew: the line it ends at, or a picture of it, white on the sky. */
export type DrawnSky = { readonly horizon: readonly Point[] } | { readonly mask: Uint8Array; readonly file: string };

type Upright = Pick<Frame, 'file' | 'widthPx' | 'heightPx'>;

/** What reading a frame borrows from outside. */
export interface Tools extends ReadTools {
  /** The network for sky and ground; without it the method without training is used. */
  readonly network?: () => Promise<SkyNetwork>;
  readonly drawn?: DrawnSky;
}

/** What tells sky from ground in this frame. A network that cannot be opened, and a drawing that looks wrong, are told as warnings. */
export async function guidanceFor(
  grid: Grid,
  upright: () => Promise<Upright>,
  { network, drawn }: Tools,
): Promise<{ guidance: Guidance; warnings: readonly Warning[] }> {
  if (isTooSmall(grid)) return { guidance: {}, warnings: [] };
  if (drawn !== undefined) {
    const frame = await upright();
    if ('horizon' in drawn)
      return { guidance: { drawn: skyAbove(drawn.horizon, grid) }, warnings: doubtsOfLine(drawn.horizon, frame) };
    const { sky, warnings } = await readSkyMask(drawn.mask, drawn.file, grid, frame);
    return { guidance: { drawn: sky }, warnings };
  }
  if (network === undefined) return { guidance: {}, warnings: [] };
  try {
    const seeing = (await network()).look(lookOf(grid));
    const cells = buildCalmCells(grid);
    return { guidance: { sight: await seeing, cells }, warnings: [] };
  } catch (cause) {
    const why = cause instanceof PaintstopError ? cause.message : 'It cannot run on this machine.';
    const message = `Sky and ground were told apart without the network. ${why}`;
    return { guidance: {}, warnings: [{ code: 'no-network', message }] };
  }
}

/** A line over less of the width than this is likely in other pixels than the frame's. */
const MOST_OF_WIDTH = 0.6;

function doubtsOfLine(horizon: readonly Point[], { widthPx, heightPx }: Upright): Warning[] {
  const [left, right] = [Math.min(...horizon.map(([x]) => x)), Math.max(...horizon.map(([x]) => x))];
  const within = Math.min(widthPx, right) - Math.max(0, left);
  const outside = horizon.every(([, y]) => y <= 0 || y >= heightPx);
  const size = `${String(widthPx)} x ${String(heightPx)} pixels`;
  if (outside)
    return [
      { code: 'odd-horizon', message: `The line of --horizon lies outside the upright frame, which is ${size}.` },
    ];
  if (within >= MOST_OF_WIDTH * widthPx) return [];
  const share = String(Math.max(0, Math.round((within / widthPx) * 100)));
  const message = `The line of --horizon spans ${share} % of the width of the upright frame, which is ${size}; it was carried on level.`;
  return [{ code: 'odd-horizon', message }];
}

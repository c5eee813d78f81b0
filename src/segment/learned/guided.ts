import { fillSmooth } from '../../math/fillSmooth.js';
import type { Grid } from '../../model/regions.js';
import { dropSmall, dropUnderSky } from '../blocks.js';
import { strangeness, type Cells } from '../cells.js';
import type { Sight } from './network.js';

/** Log odds beyond this are not heard further: the network may be sure and wrong. */
const MOST = 5;

/**
 * Sky (1) or foreground (0) of every block: the network says where, the light of the block itself where exactly. The nearer the network's
 * odds are to even, the more the block's distance from the sky around it decides: edges, twigs, holes.
 */
export function guidedSky(grid: Grid, cells: Cells, sight: Sight): Uint8Array {
  const { width, height } = grid;
  const readOdds = rowsOf(sight.sky, sight, width, height);
  const surface = surfaceOf(cells, sight).map((plane) => rowsOf(plane, cells, width, height));
  const odds = new Float32Array(width);
  const [level, redness, blueness] = [new Float32Array(width), new Float32Array(width), new Float32Array(width)];
  const sky = new Uint8Array(width * height);
  for (let y = 0; y < height; y++) {
    readOdds(y, odds);
    surface[0]!(y, level);
    surface[1]!(y, redness);
    surface[2]!(y, blueness);
    for (let x = 0; x < width; x++) {
      const i = y * width + x;
      const told = Math.max(-MOST, Math.min(MOST, odds[x]!));
      const strange = strangeness(grid, i, cells.floor, level[x]!, redness[x]!, blueness[x]!);
      const even = Math.exp(-((told / EVEN) ** 2));
      sky[i] = told - strange * even > 0 ? 1 : 0;
    }
  }
  dropSmall(sky, width, height);
  // What the network is sure of may float: a crown whose trunk is lost in the dark.
  for (let y = 0; y < height; y++) {
    readOdds(y, odds);
    for (let x = 0; x < width; x++) if (odds[x]! < SURELY_LAND) sky[y * width + x] = 0;
  }
  dropUnderSky(sky, width, height);
  return sky;
}

/** Log odds at which the block's own light has lost most of its say. */
const EVEN = 3;
const SURELY_LAND = -2.5;

/** Level, redness and blueness of the sky everywhere, through the cells that the network takes for sky. */
function surfaceOf(cells: Cells, sight: Sight): Float32Array[] {
  const { width, height } = cells;
  const weight = new Float32Array(width * height);
  const read = rowsOf(sight.sky, sight, width, height);
  for (let y = 0; y < height; y++) read(y, weight.subarray(y * width, (y + 1) * width));
  for (let i = 0; i < weight.length; i++) weight[i] = 1 / (1 + Math.exp(-2 * (weight[i]! - 1)));
  const radius = Math.max(2, Math.round(width / 40));
  return fillSmooth([cells.level, cells.redness, cells.blueness], weight, width, height, radius);
}

/** Reads single rows of a plane at another size: bilinear, centres on half places, edges repeated. */
function rowsOf(
  plane: Float32Array,
  from: { readonly width: number; readonly height: number },
  width: number,
  height: number,
): (y: number, out: Float32Array) => void {
  const placeOf = (n: number, count: number, own: number): number =>
    Math.max(0, Math.min(own - 1, ((n + 0.5) * own) / count - 0.5));
  const left = new Int32Array(width);
  const right = new Int32Array(width);
  const part = new Float32Array(width);
  for (let x = 0; x < width; x++) {
    const at = placeOf(x, width, from.width);
    left[x] = Math.floor(at);
    right[x] = Math.min(from.width - 1, left[x]! + 1);
    part[x] = at - left[x]!;
  }
  return (y, out) => {
    const at = placeOf(y, height, from.height);
    const top = Math.floor(at);
    const fy = at - top;
    const above = top * from.width;
    const below = Math.min(from.height - 1, top + 1) * from.width;
    for (let x = 0; x < width; x++) {
      const [c, d, fx] = [left[x]!, right[x]!, part[x]!];
      const high = plane[above + c]! * (1 - fx) + plane[above + d]! * fx;
      const low = plane[below + c]! * (1 - fx) + plane[below + d]! * fx;
      out[x] = high * (1 - fy) + low * fy;
    }
  };
}

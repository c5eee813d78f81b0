import { fillSmooth } from '../../math/fillSmooth.js';
import { quickLog2 } from '../../math/quickLog2.js';
import type { Grid } from '../../model/regions.js';
import { dropSmall, dropUnderSky } from '../blocks.js';
import { tint, type Cells } from '../cells.js';
import type { Sight } from './network.js';

/** Log odds beyond this are not heard further: the network may be sure and wrong. */
const MOST = 5;

/**
 * Sky (1) or foreground (0) of every block: the network says where, the light of the block itself where exactly. The nearer the network's
 * odds are to even, the more the block's distance from the sky around it decides: edges, twigs, holes.
 */
export function guidedSky(grid: Grid, cells: Cells, sight: Sight): Uint8Array {
  const surface = surfaceOf(cells, sight);
  const { width, height } = grid;
  const odds = resampled(sight.sky, sight, width, height);
  const level = resampled(surface[0]!, cells, width, height);
  const redness = resampled(surface[1]!, cells, width, height);
  const blueness = resampled(surface[2]!, cells, width, height);
  const sky = new Uint8Array(width * height);
  for (let i = 0; i < sky.length; i++) {
    const light = Math.max(cells.floor, grid.luminance[i]!);
    const own = quickLog2(light);
    const grain = 0.04 / Math.sqrt(light * 16 + 0.01);
    const dim = Math.max(0, Math.min(1, (-8 - own) / 3));
    const dl = (own - level[i]!) / (0.3 + grain);
    const dr = (tint(grid.red[i]!, grid.green[i]!) - redness[i]!) / (0.28 + grain + 0.4 * dim);
    const db = (tint(grid.blue[i]!, grid.green[i]!) - blueness[i]!) / (0.34 + grain + 0.5 * dim);
    const distance = 0.5 * (dl * dl + 0.7 * dr * dr + 0.5 * db * db);
    const strange = Math.max(-1.4, Math.min(3.5, distance - 1.5));
    const told = Math.max(-MOST, Math.min(MOST, odds[i]!));
    const even = Math.exp(-((told / EVEN) ** 2));
    sky[i] = told - strange * even > 0 ? 1 : 0;
  }
  dropSmall(sky, width, height);
  // What the network is sure of may float: a crown whose trunk is lost in the dark.
  for (let i = 0; i < sky.length; i++) if (odds[i]! < SURELY_LAND) sky[i] = 0;
  dropUnderSky(sky, width, height);
  return sky;
}

/** Log odds at which the block's own light has lost most of its say. */
const EVEN = 3;
const SURELY_LAND = -2.5;

/** Level, redness and blueness of the sky everywhere, through the cells that the network takes for sky. */
function surfaceOf(cells: Cells, sight: Sight): Float32Array[] {
  const { width, height } = cells;
  const odds = resampled(sight.sky, sight, width, height);
  const weight = odds.map((value) => 1 / (1 + Math.exp(-2 * (value - 1))));
  const radius = Math.max(2, Math.round(width / 40));
  return fillSmooth([cells.level, cells.redness, cells.blueness], weight, width, height, radius);
}

/** Bilinear, centres on half places, edges repeated. */
function resampled(
  plane: Float32Array,
  from: { readonly width: number; readonly height: number },
  width: number,
  height: number,
): Float32Array {
  const out = new Float32Array(width * height);
  const placeOf = (n: number, count: number, own: number): number =>
    Math.max(0, Math.min(own - 1, ((n + 0.5) * own) / count - 0.5));
  const left = new Int32Array(width);
  const part = new Float32Array(width);
  for (let x = 0; x < width; x++) {
    const at = placeOf(x, width, from.width);
    left[x] = Math.min(Math.max(0, from.width - 2), Math.floor(at));
    part[x] = from.width > 1 ? at - left[x]! : 0;
  }
  for (let y = 0; y < height; y++) {
    const at = placeOf(y, height, from.height);
    const top = Math.min(Math.max(0, from.height - 2), Math.floor(at));
    const fy = from.height > 1 ? at - top : 0;
    const row = top * from.width;
    const below = from.height > 1 ? row + from.width : row;
    for (let x = 0; x < width; x++) {
      const c = left[x]!;
      const d = from.width > 1 ? c + 1 : c;
      const fx = part[x]!;
      const above = plane[row + c]! * (1 - fx) + plane[row + d]! * fx;
      const under = plane[below + c]! * (1 - fx) + plane[below + d]! * fx;
      out[y * width + x] = above * (1 - fy) + under * fy;
    }
  }
  return out;
}

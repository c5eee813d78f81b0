import { fillSmooth } from '../../math/fillSmooth.js';
import type { Grid } from '../../model/regions.js';
import { dropSmall, dropUnderSky } from '../blocks.js';
import { strangeness, type CalmCells } from '../cells.js';
import type { Sight } from './network.js';

/**
 * Sky (1) or foreground (0) of every block: the network says where, the light of the block itself where exactly. The nearer the network's
 * odds are to even, the more the block's distance from the sky around it decides: edges, twigs, holes.
 */
export function guidedSky(grid: Grid, cells: CalmCells, sight: Sight): Uint8Array {
  const { width, height } = grid;
  const told = readerOf(sight.sky, sight, width, height);
  const [level, redness, blueness] = surfaceOf(cells, sight).map((plane) => readerOf(plane, cells, width, height));
  const odds = new Float32Array(width);
  const sky = new Uint8Array(width * height);
  const landAnyway: number[] = [];
  for (let y = 0; y < height; y++) {
    told.row(y, odds);
    for (let x = 0; x < width; x++) {
      const own = odds[x]!;
      const i = y * width + x;
      if (own < SURELY_LAND) landAnyway.push(i);
      if (own <= DECIDED.land || own >= DECIDED.sky) {
        sky[i] = own > 0 ? 1 : 0;
        continue;
      }
      const strange = strangeness(grid, i, cells.floor, level!.at(x, y), redness!.at(x, y), blueness!.at(x, y));
      const even = Math.exp(-((own / EVEN) ** 2));
      sky[i] = own - strange * even > 0 ? 1 : 0;
    }
  }
  dropSmall(sky, width, height);
  // What the network is sure of may float: a crown whose trunk is lost in the dark.
  for (const i of landAnyway) sky[i] = 0;
  dropUnderSky(sky, width, height);
  return sky;
}

/** Log odds at which the block's own light has lost most of its say. */
const EVEN = 3;

/** Beyond these log odds no light of the block's own (strangeness -1.4 to 3.5) can turn the answer. */
const DECIDED = { land: -1.25, sky: 2.2 };
const SURELY_LAND = -2.5;

/** Level, redness and blueness of the sky everywhere, through the cells that the network takes for sky. */
function surfaceOf(cells: CalmCells, sight: Sight): Float32Array[] {
  const { width, height } = cells;
  const weight = new Float32Array(width * height);
  const read = readerOf(sight.sky, sight, width, height);
  for (let y = 0; y < height; y++) read.row(y, weight.subarray(y * width, (y + 1) * width));
  for (let i = 0; i < weight.length; i++) weight[i] = 1 / (1 + Math.exp(-2 * (weight[i]! - 1)));
  const radius = Math.max(2, Math.round(width / 40));
  return fillSmooth([cells.level, cells.redness, cells.blueness], weight, width, height, radius);
}

/** Reads a plane at another size, in rows or at single places: bilinear, centres on half places, edges repeated. */
interface Reader {
  row(y: number, out: Float32Array): void;
  at(x: number, y: number): number;
}

function readerOf(
  plane: Float32Array,
  from: { readonly width: number; readonly height: number },
  width: number,
  height: number,
): Reader {
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
  const mixed = (x: number, above: number, below: number, fy: number): number => {
    const [c, d, fx] = [left[x]!, right[x]!, part[x]!];
    const high = plane[above + c]! * (1 - fx) + plane[above + d]! * fx;
    const low = plane[below + c]! * (1 - fx) + plane[below + d]! * fx;
    return high * (1 - fy) + low * fy;
  };
  const rowsAt = (y: number): [above: number, below: number, fy: number] => {
    const at = placeOf(y, height, from.height);
    const top = Math.floor(at);
    return [top * from.width, Math.min(from.height - 1, top + 1) * from.width, at - top];
  };
  return {
    row: (y, out) => {
      const [above, below, fy] = rowsAt(y);
      for (let x = 0; x < width; x++) out[x] = mixed(x, above, below, fy);
    },
    at: (x, y) => mixed(x, ...rowsAt(y)),
  };
}

import { fillSmooth } from '../../math/fillSmooth.js';
import { readerOf, stretched } from '../../math/planeReader.js';
import type { Grid } from '../../model/regions.js';
import { dropSmall, dropUnderSky } from '../blocks.js';
import { returnClouds } from '../clouds.js';
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
  if (returnClouds(sky, grid)) {
    const standing = landAnyway.filter((i) => sky[i] === 0);
    // Shreds along the rim of a cloud float.
    dropSmall(sky, width, height);
    for (const i of standing) sky[i] = 0;
  }
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
  const weight = stretched(sight.sky, sight, width, height);
  for (let i = 0; i < weight.length; i++) weight[i] = 1 / (1 + Math.exp(-2 * (weight[i]! - 1)));
  const radius = Math.max(2, Math.round(width / 40));
  return fillSmooth([cells.level, cells.redness, cells.blueness], weight, width, height, radius);
}

import { quantile } from '../math/statistics.js';
import { REGION, type Grid } from '../model/regions.js';

/** Median linear light of sky and painted ground, red, green, blue; null for a region of fewer than forty blocks. White balance applied. */
export function measureColours(
  grid: Grid,
  mask: Uint8Array,
  balance: readonly [number, number, number],
): { sky: readonly [number, number, number] | null; painted: readonly [number, number, number] | null } {
  const of = (region: number): readonly [number, number, number] | null => {
    const blocks: number[] = [];
    for (let i = 0; i < mask.length; i += 3) if (mask[i] === region) blocks.push(i);
    if (blocks.length < 40) return null;
    const middle = (plane: Float32Array, c: number): number =>
      quantile(
        blocks.map((i) => plane[i]!),
        0.5,
      ) * balance[c]!;
    return [middle(grid.red, 0), middle(grid.green, 1), middle(grid.blue, 2)];
  };
  return { sky: of(REGION.sky), painted: of(REGION.painted) };
}

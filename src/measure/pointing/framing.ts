import { LEAST_PAINTED, REGION } from '../../model/regions.js';

/** Regions on any coarse raster over the upright frame: the grid's mask, or those of a glance. */
export interface Framing {
  readonly width: number;
  readonly height: number;
  /** REGION values, row-major. */
  readonly regions: ArrayLike<number>;
  /** Upright pixels that the raster spans. */
  readonly spanX: number;
  readonly spanY: number;
}

export type SkyTest = (x: number, y: number) => boolean;

/** Whether an upright pixel sees the sky; outside the frame nothing does. */
export function skyTest({ width, height, regions, spanX, spanY }: Framing): SkyTest {
  return (x, y) => {
    const column = Math.floor((x / spanX) * width);
    const row = Math.floor((y / spanY) * height);
    return column >= 0 && row >= 0 && column < width && row < height && regions[row * width + column] === REGION.sky;
  };
}

/** The painted ground's middle column, and the top of what is painted there, upright pixels; null when next to nothing is painted. */
export function paintedSubject({ width, height, regions, spanX, spanY }: Framing): { x: number; y: number } | null {
  const columns = new Float64Array(width);
  let all = 0;
  for (let i = 0; i < regions.length; i++)
    if (regions[i] === REGION.painted) {
      columns[i % width]!++;
      all++;
    }
  if (all < LEAST_PAINTED * regions.length) return null;
  let sum = 0;
  const column = columns.findIndex((count) => (sum += count) >= all / 2);
  let row = 0;
  while (row < height - 1 && regions[row * width + column] !== REGION.painted) row++;
  return { x: Math.round(((column + 0.5) * spanX) / width), y: Math.round(((row + 0.5) * spanY) / height) };
}

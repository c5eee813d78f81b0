import { connectedBlobs } from '../math/raster.js';
import { median } from '../math/statistics.js';
import { quickLog2 } from '../math/quickLog2.js';
import type { Grid } from '../model/regions.js';

/** Cells that clouds are judged on, along the longer side. */
const CELLS = 320;

/** Less of the frame than this is left alone. */
const LEAST_PART = 0.03;

/** The edge of land that a lamp lit stands out from the sky by more than this; a cloud's does not. Stops. */
const FADES_STOPS = 1;

/** And leaves and rock vary by more than this from cell to cell; cloud is smooth. Stops. */
const SMOOTH_STOPS = 0.1;

/** Fewer places than this say nothing. */
const LEAST_PLACES = 20;

/**
 * Gives back to the sky (1) what was taken for land (0) and is cloud. Land that hangs into the frame without standing on the ground (the roof
 * of a cave, boughs) is darker than the sky behind it, or lit well above it, and has an edge; cloud in the light of Moon or town is a little
 * brighter than the clear sky beside it, fades into it and is smooth (common practice, no source, for how much). Says whether there was any.
 */
export function returnClouds(sky: Uint8Array, { width, height, luminance }: Grid): boolean {
  const k = Math.max(1, Math.round(Math.max(width, height) / CELLS));
  const wide = Math.floor(width / k);
  const high = Math.floor(height / k);
  if (wide < 8 || high < 8) return false;
  const land = new Uint8Array(wide * high);
  const level = new Float32Array(wide * high);
  for (let y = 0; y < high; y++)
    for (let x = 0; x < wide; x++) {
      let light = 0;
      let open = 0;
      for (let v = y * k; v < (y + 1) * k; v++)
        for (let i = v * width + x * k; i < v * width + (x + 1) * k; i++) {
          light += luminance[i]!;
          open += sky[i]!;
        }
      level[y * wide + x] = quickLog2(Math.max(2 ** -15, light / (k * k)));
      land[y * wide + x] = 2 * open < k * k ? 1 : 0;
    }
  const { labels, blobs } = connectedBlobs(land, wide, high, 1);
  const clouds = blobs.map(
    ({ area, maxY }, n) =>
      area >= LEAST_PART * land.length &&
      maxY < high - 1 &&
      isCloud(middleOf(stepsOf(n + 1, labels, level, wide, high)), middleOf(bendsOf(n + 1, labels, level))),
  );
  if (!clouds.includes(true)) return false;
  for (let y = 0; y < height; y++)
    for (let x = 0; x < width; x++) {
      const cell = Math.min(high - 1, Math.floor(y / k)) * wide + Math.min(wide - 1, Math.floor(x / k));
      if (labels[cell]! > 0 && clouds[labels[cell]! - 1]!) sky[y * width + x] = 1;
    }
  return true;
}

function isCloud(step: number | null, bend: number | null): boolean {
  return step !== null && bend !== null && step > 0 && step < FADES_STOPS && bend < SMOOTH_STOPS;
}

function middleOf(values: readonly number[]): number | null {
  return values.length < LEAST_PLACES ? null : median(values);
}

/** How far a cell of a set is from the mean of those left and right of it, twice, stops. */
function bendsOf(label: number, labels: Int32Array, level: Float32Array): number[] {
  const bends: number[] = [];
  for (let i = 1; i < labels.length - 1; i++)
    if (labels[i] === label && labels[i - 1] === label && labels[i + 1] === label)
      bends.push(Math.abs(level[i - 1]! + level[i + 1]! - 2 * level[i]!));
  return bends;
}

/** How much brighter a set is than the sky, across its edge: two cells within against two cells without, stops. */
function stepsOf(label: number, labels: Int32Array, level: Float32Array, wide: number, high: number): number[] {
  const steps: number[] = [];
  const across = (i: number, step: number): void => {
    const [within, without] = [i - step, i + 2 * step];
    if (labels[i] === label && labels[within] === label && labels[i + step] === 0 && labels[without] === 0)
      steps.push(level[within]! - level[without]!);
  };
  for (let y = 2; y < high - 2; y++)
    for (let x = 2; x < wide - 2; x++) {
      const i = y * wide + x;
      if (labels[i] !== label) continue;
      for (const step of [1, -1, wide, -wide]) across(i, step);
    }
  return steps;
}

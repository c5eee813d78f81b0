import type { LibRawImage, LibRawMetadata } from 'libraw-wasm/dist/libraw.js';
import type { Mosaic, Repeating } from './mosaic.js';
import { RAW_TAG, type Directory } from './tiffTags.js';

type Black = Pick<Mosaic, 'black' | 'blackRows' | 'blackColumns'>;

/** Black level by place: a DNG's tags, else the sensor's covered margin, else one number for all. */
export function blackOf(image: LibRawImage, metadata: LibRawMetadata, directory: Directory | null): Black {
  if (directory !== null) return fromTags(directory);
  const common = metadata.color_data.black;
  return {
    black: fromMargin(image, common) ?? { rows: 1, columns: 1, values: [common] },
    blackRows: [],
    blackColumns: [],
  };
}

/** DNG 1.7.1: BlackLevel repeats from the ActiveArea's top-left; BlackLevelDeltaV and DeltaH add by row and by column. */
function fromTags(directory: Directory): Black {
  const [rows = 1, columns = 1] = directory.get(RAW_TAG.blackRepeatDim) ?? [];
  const values = directory.get(RAW_TAG.blackLevel) ?? [0];
  const sound = rows >= 1 && columns >= 1 && values.length >= rows * columns && values.every(Number.isFinite);
  return {
    black: sound ? { rows, columns, values: values.slice(0, rows * columns) } : { rows: 1, columns: 1, values: [0] },
    blackRows: directory.get(RAW_TAG.blackDeltaV) ?? [],
    blackColumns: directory.get(RAW_TAG.blackDeltaH) ?? [],
  };
}

/** Fewer covered columns than this say nothing. */
const LEAST_COLUMNS = 16;

/**
 * Mean of the covered columns left of the picture, by place in a 2 x 2 square of the picture; null where there are none, or where they
 * disagree with the header by more than an eighth of it and eight counts (then they are not covered).
 */
function fromMargin(image: LibRawImage, common: number): Repeating | null {
  const { left_margin: left, top_margin: top, height, raw_width: stride, data } = image;
  if (left < LEAST_COLUMNS || common <= 0) return null;
  const sums = [0, 0, 0, 0];
  const counts = [0, 0, 0, 0];
  for (let y = 8; y < height - 8; y++)
    for (let x = 4; x < left - 6; x++) {
      // Column parity as seen from the picture's first column.
      const place = (y % 2) * 2 + ((left - x) % 2);
      sums[place]! += data[(top + y) * stride + x]!;
      counts[place]!++;
    }
  const values = sums.map((sum, n) => sum / Math.max(1, counts[n]!));
  const sound = values.every((value) => Math.abs(value - common) <= 8 + common / 8);
  return sound ? { rows: 2, columns: 2, values: values.map((value) => Number(value.toFixed(2))) } : null;
}

/** Saturated level: a DNG's WhiteLevel (one number for a mosaic), else what LibRaw knows of the camera. */
export function whiteOf(metadata: LibRawMetadata, directory: Directory | null): [number, number, number] {
  const { maximum, raw_bps: bits } = metadata.color_data;
  const fallback = maximum > 0 ? maximum : 2 ** (bits || 14) - 1;
  const tagged = directory?.get(RAW_TAG.whiteLevel)?.[0];
  const white = tagged !== undefined && tagged > 0 && tagged <= 65535 ? tagged : fallback;
  return [white, white, white];
}

import type { LibRawImage, LibRawMetadata, LibRawModule } from 'libraw-wasm/dist/libraw.js';
import { PaintstopError } from '../../errors.js';
import { blackOf, whiteOf } from './blackWhite.js';
import { settledWhite } from './clipPoint.js';
import { develop, type Developed } from './develop.js';
import { filtersOf } from './filters.js';
import type { Mosaic } from './mosaic.js';
import { emptyPartOf, mosaicDirectory, promisedLength, RAW_TAG, tiffDirectories, type Directory } from './tiffTags.js';

/** What a raw file says of itself, where its own Exif cannot be read. */
export interface RawFacts {
  readonly iso: number | null;
  readonly shutterSeconds: number | null;
  readonly aperture: number | null;
  readonly focalMm: number | null;
  readonly focal35Mm: number | null;
  /** Wall clock of the camera, ISO 8601 without a zone. */
  readonly takenAt: string | null;
  readonly make: string;
  readonly model: string;
  readonly lens: string;
}

/** A raw frame carried to linear light, and where its levels come from. Plain data: it crosses threads. */
export interface UnpackedRaw extends Developed {
  readonly bits: number;
  readonly filters: string;
  readonly black: readonly number[];
  readonly white: readonly [number, number, number];
  /** The header's white level was overruled by the frame's own saturation. */
  readonly whiteFound: boolean;
  /** Gains of red, green and blue that make the camera's white neutral, green 1; for pictures and the telling of colours only. */
  readonly balance: readonly [number, number, number];
  /** Part of the rows that hold no picture. */
  readonly emptyRows: number;
  readonly facts: RawFacts;
}

const MOST_SITES = 250_000_000;

/** White over black level, at least: less is no picture. */
const LEAST_RANGE = 32;

/**
 * Opens a camera raw file: the sensor's mosaic, black and white level, linear light. Throws PaintstopError for what is damaged, cut
 * short, too large, or holds no mosaic of red, green and blue sites.
 */
export function unpackRaw(libraw: LibRawModule, bytes: Uint8Array, file: string): UnpackedRaw {
  const { mosaic, metadata, directory, directories } = openMosaic(libraw, bytes, file);
  const { white, found } = settledWhite(mosaic);
  return {
    ...develop(mosaic, white),
    bits: Math.ceil(Math.log2(Math.max(...mosaic.white) + 1)),
    filters: mosaic.filters.values.map((colour) => 'RGB'[colour]).join(''),
    black: mosaic.black.values,
    white,
    whiteFound: found,
    balance: balanceOf(metadata, directory),
    emptyRows: Math.max(emptyRowsOf(mosaic), emptyPartOf(bytes, directories)),
    facts: factsOf(metadata),
  };
}

interface OpenedMosaic {
  readonly mosaic: Mosaic;
  readonly metadata: LibRawMetadata;
  /** A DNG's directory that holds the mosaic; null for other files. */
  readonly directory: Directory | null;
  /** All directories of a TIFF-based file. */
  readonly directories: readonly Directory[];
}

/** The sensor's numbers and what is needed to read them. Throws as `unpackRaw` does. */
export function openMosaic(libraw: LibRawModule, bytes: Uint8Array, file: string): OpenedMosaic {
  const directories = tiffDirectories(bytes);
  if (promisedLength(directories) > bytes.length)
    throw new PaintstopError('cut-short', `${file} is cut short: the end of the raw data is missing`);
  const { image, metadata } = openWith(libraw, bytes, file);
  return { ...mosaicOf(image, metadata, directories, bytes, file), metadata, directories };
}

function openWith(
  libraw: LibRawModule,
  bytes: Uint8Array,
  file: string,
): { image: LibRawImage; metadata: LibRawMetadata } {
  const handle = new libraw.LibRaw();
  try {
    let metadata: LibRawMetadata | undefined;
    try {
      handle.open(bytes, {});
      metadata = handle.metadata(false);
    } catch {
      throw new PaintstopError('damaged-raw', `${file} is no raw file that can be opened, or its header is damaged`);
    }
    if (metadata === undefined || !(metadata.width > 0 && metadata.height > 0))
      throw new PaintstopError('damaged-raw', `${file} is no raw file that can be opened, or its header is damaged`);
    if (metadata.width * metadata.height > MOST_SITES)
      throw new PaintstopError(
        'too-large',
        `${file} says that it is ${String(metadata.width)} x ${String(metadata.height)}`,
      );
    if (metadata.is_foveon > 0 || metadata.filters === 0)
      throw new PaintstopError(
        'no-mosaic',
        `${file} holds colours that were already put together, not what the sensor's sites saw`,
      );
    let image: LibRawImage | undefined;
    try {
      image = handle.rawImageData();
    } catch {
      throw new PaintstopError('damaged-raw', `${file} cannot be unpacked: its raw data is damaged or cut off`);
    }
    if (
      image === undefined ||
      !(image.data instanceof Uint16Array) ||
      image.data.length < image.raw_width * image.raw_height
    )
      throw new PaintstopError('no-mosaic', `${file} holds no mosaic that can be unpacked`);
    // Some black levels are known only after unpacking.
    return { image, metadata: handle.metadata(true) ?? metadata };
  } finally {
    handle.delete();
  }
}

function mosaicOf(
  image: LibRawImage,
  metadata: LibRawMetadata,
  directories: readonly Directory[],
  bytes: Uint8Array,
  file: string,
): { mosaic: Mosaic; directory: Directory | null } {
  const dng = directories.some((own) => own.has(RAW_TAG.dngVersion));
  const directory = dng ? mosaicDirectory(directories) : null;
  const filters = filtersOf(metadata, directory, bytes);
  if (filters === null)
    throw new PaintstopError('no-mosaic', `${file} has a mosaic of other colours than red, green and blue`);
  const { raw_width: stride, left_margin: left, top_margin: top, width, height } = image;
  if (left + width > stride || top + height > image.raw_height)
    throw new PaintstopError('damaged-raw', `${file} is damaged: its picture lies outside its data`);
  const data =
    left === 0 && stride === width ? image.data.subarray(top * stride, (top + height) * stride) : cropped(image);
  const black = blackOf(image, metadata, directory);
  const white = whiteOf(metadata, directory);
  if (Math.min(...white) < Math.max(...black.black.values) + LEAST_RANGE)
    throw new PaintstopError('damaged-raw', `${file} is damaged: its white level is no higher than its black level`);
  return {
    mosaic: { data, width, height, filters, ...black, white, flip: metadata.flip },
    directory,
  };
}

/** The picture's part of the sensor, without its covered margins. */
function cropped({
  data,
  raw_width: stride,
  left_margin: left,
  top_margin: top,
  width,
  height,
}: LibRawImage): Uint16Array {
  const out = new Uint16Array(width * height);
  for (let y = 0; y < height; y++)
    out.set(data.subarray((top + y) * stride + left, (top + y) * stride + left + width), y * width);
  return out;
}

/** AsShotNeutral is the camera's reading of white (DNG 1.7.1): gains are its inverse. Else the camera's own multipliers. */
function balanceOf(metadata: LibRawMetadata, directory: Directory | null): [number, number, number] {
  const neutral = directory?.get(RAW_TAG.asShotNeutral);
  const multipliers = neutral === undefined ? metadata.color_data.cam_mul : neutral.map((value) => 1 / value);
  const [red, green, blue] = multipliers;
  const sound = (value: number | undefined): value is number =>
    value !== undefined && Number.isFinite(value) && value > 0;
  if (!sound(red) || !sound(green) || !sound(blue)) return [2, 1, 1.5];
  const held = (gain: number): number => Math.max(0.2, Math.min(8, gain));
  return [held(red / green), 1, held(blue / green)];
}

/** Rows whose sites are all alike: no sensor gives that, except where everything is saturated. */
function emptyRowsOf({ data, width, height, white }: Mosaic): number {
  let empty = 0;
  for (let y = 0; y < height; y++) {
    const first = data[y * width]!;
    let alike = first < Math.min(...white) * 0.9;
    for (let x = 1; x < width && alike; x++) alike = data[y * width + x] === first;
    if (alike) empty++;
  }
  return empty / height;
}

function factsOf(metadata: LibRawMetadata): RawFacts {
  const positive = (value: number): number | null =>
    Number.isFinite(value) && value > 0 && value < 1e7 ? Number(value.toPrecision(6)) : null;
  return {
    iso: positive(metadata.iso_speed),
    shutterSeconds: positive(metadata.shutter),
    aperture: positive(metadata.aperture),
    focalMm: positive(metadata.focal_len),
    focal35Mm: positive(metadata.lens?.FocalLengthIn35mmFormat ?? 0),
    // Cameras with a clock are younger than 1985; a damaged date is none.
    takenAt:
      metadata.timestamp > 473_385_600 && metadata.timestamp < 4_102_444_800
        ? new Date(metadata.timestamp * 1000).toISOString().slice(0, 19)
        : null,
    make: metadata.camera_make,
    model: metadata.camera_model,
    lens: metadata.lens?.Lens || metadata.lens?.makernotes?.Lens || '',
  };
}

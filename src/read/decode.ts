import sharp, { type Metadata, type OutputInfo, type Sharp } from 'sharp';
import { PaintstopError } from '../errors.js';
import type { Container, Samples } from '../model/frame.js';

/** A larger picture is refused before it is decoded. */
export const MOST_PIXELS = 250_000_000;

/** What the header says, before any pixel is decoded. Sizes are those of the file, not yet upright. */
export type Header = Metadata;

export interface Decoded {
  readonly samples: Samples;
  readonly widthPx: number;
  readonly heightPx: number;
  readonly bitsPerChannel: 8 | 16 | 32;
  readonly icc: Uint8Array | null;
  /** The decoder has carried the values to sRGB already (CMYK, or a profile made of tables). */
  readonly convertedToSrgb: boolean;
  readonly damaged: boolean;
}

export async function inspect(bytes: Uint8Array, file: string): Promise<Header> {
  let header: Header;
  try {
    header = await sharp(bytes, { limitInputPixels: false, failOn: 'none' }).metadata();
  } catch (cause) {
    if (UNREAD_KIND.test(wordsOf(cause))) throw unreadKind(file);
    throw new PaintstopError('damaged', `${file} cannot be opened: its header is damaged or cut off`);
  }
  const pixels = header.width * header.height;
  if (pixels > MOST_PIXELS)
    throw new PaintstopError(
      'too-large',
      `${file} is ${String(header.width)} x ${String(header.height)}, ${String(Math.round(pixels / 1e6))} megapixels`,
    );
  return header;
}

/**
 * Decodes to upright interleaved R G B: 8 bit stays 8, 16 stays 16, floating point stays so; grey is repeated, alpha dropped.
 * `convertWithProfile` lets the decoder apply the file's profile (towards sRGB).
 */
export async function decode(
  bytes: Uint8Array,
  file: string,
  header: Header,
  convertWithProfile: boolean,
): Promise<Decoded> {
  const cmyk = header.space === 'cmyk' || header.space === 'lab' || header.space === 'labs';
  const bits = bitsOf(header.depth, cmyk);
  if (bits === null) throw unreadKind(file, ` (${header.depth})`);
  const convert = convertWithProfile || cmyk;
  const run = async (failOn: 'warning' | 'error'): Promise<{ data: Buffer; info: OutputInfo }> => {
    const input = sharp(bytes, { limitInputPixels: MOST_PIXELS, failOn, ignoreIcc: !convert, sequentialRead: true });
    return shaped(input.autoOrient().removeAlpha(), bits, header.space === 'b-w' || header.space === 'grey16').toBuffer(
      { resolveWithObject: true },
    );
  };
  let damaged = false;
  let result: { data: Buffer; info: OutputInfo };
  try {
    result = await run('warning');
  } catch {
    damaged = true;
    result = await run('error').catch((cause: unknown) => {
      throw decodeError(file, cause);
    });
  }
  const { data, info } = result;
  return {
    samples: repeatGrey(view(data, bits), info.width * info.height, info.channels),
    widthPx: info.width,
    heightPx: info.height,
    bitsPerChannel: bits,
    icc: header.icc === undefined ? null : new Uint8Array(header.icc),
    convertedToSrgb: convert,
    damaged,
  };
}

interface Reduced {
  readonly samples: Uint8Array;
  readonly width: number;
  readonly height: number;
  readonly blockPx: number;
}

/**
 * One pixel a block straight from a large JPEG: the decoder scales by 4 or 8 while it decodes, much faster than in full. It averages
 * stored values, not light: with a block's grain of a tenth of its level that is 0.005 stop. Null where it does not apply.
 */
export function reducedDecode(
  bytes: Uint8Array,
  header: Header,
  container: Container,
  blockPx: number,
): Promise<Reduced> | null {
  const { width, height, space, channels, orientation = 1 } = header;
  const scales = (blockPx === 4 || blockPx === 8) && width % blockPx === 0 && height % blockPx === 0;
  if (container !== 'jpeg' || !scales || space !== 'srgb' || channels !== 3 || orientation !== 1) return null;
  const size = { width: width / blockPx, height: height / blockPx };
  return sharp(bytes, { limitInputPixels: MOST_PIXELS, failOn: 'none', ignoreIcc: true })
    .resize({ ...size, fit: 'fill' })
    .toColourspace('srgb')
    .raw()
    .toBuffer()
    .then((data) => ({ samples: new Uint8Array(data.buffer, data.byteOffset, data.byteLength), ...size, blockPx }));
}

/** Null for samples that are read wrongly or not at all: signed and 32-bit integers, doubles, complex numbers. */
function bitsOf(depth: string | undefined, cmyk: boolean): 8 | 16 | 32 | null {
  if (depth === 'uchar' || (cmyk && depth === 'ushort')) return 8;
  if (depth === 'ushort') return 16;
  return depth === 'float' && !cmyk ? 32 : null;
}

/** Without rgb16 the decoder hands out 8-bit values in 16-bit clothes. */
function shaped(pipeline: Sharp, bits: 8 | 16 | 32, grey: boolean): Sharp {
  if (bits === 8) return pipeline.toColourspace('srgb').raw({ depth: 'uchar' });
  if (bits === 16) return pipeline.toColourspace('rgb16').raw({ depth: 'ushort' });
  // Grey floats would come out black by way of scRGB; the samples are taken as they are.
  return grey ? pipeline.raw({ depth: 'float' }) : pipeline.toColourspace('scrgb').raw({ depth: 'float' });
}

function view(data: Buffer, bits: 8 | 16 | 32): Samples {
  if (bits === 8) return new Uint8Array(data.buffer, data.byteOffset, data.byteLength);
  const aligned = data.byteOffset % 4 === 0 ? data : Buffer.from(data);
  return bits === 16
    ? new Uint16Array(aligned.buffer, aligned.byteOffset, aligned.byteLength / 2)
    : new Float32Array(aligned.buffer, aligned.byteOffset, aligned.byteLength / 4);
}

function repeatGrey(samples: Samples, pixels: number, channels: number): Samples {
  if (channels === 3) return samples;
  const out =
    samples instanceof Uint8Array
      ? new Uint8Array(pixels * 3)
      : samples instanceof Uint16Array
        ? new Uint16Array(pixels * 3)
        : new Float32Array(pixels * 3);
  for (let i = 0; i < pixels; i++) out[i * 3] = out[i * 3 + 1] = out[i * 3 + 2] = samples[i * channels]!;
  return out;
}

function decodeError(file: string, cause: unknown): PaintstopError {
  const words = wordsOf(cause);
  if (UNREAD_KIND.test(words)) return unreadKind(file);
  if (/premature|truncat|end of|too short|not enough|out of order|eof/i.test(words))
    return new PaintstopError('cut-short', `${file} is cut short: the end of the picture is missing`);
  return new PaintstopError('damaged', `${file} cannot be decoded: its picture data is damaged`);
}

/** What the decoder says of sound files that it does not read: JPEG of 12 bits or without loss, TIFF of doubles, complex numbers or packed Lab. */
const UNREAD_KIND = /unsupported|samples out of range|bad labq/i;

function unreadKind(file: string, depth = ''): PaintstopError {
  return new PaintstopError('unsupported-picture', `${file} holds samples of a kind that is not read${depth}`);
}

function wordsOf(cause: unknown): string {
  return cause instanceof Error ? cause.message : '';
}

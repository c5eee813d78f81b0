import type { Container, Encoding, Frame, Response, Settings, Warning } from '../model/frame.js';
import type { Grid } from '../model/regions.js';
import { srgbToLinear } from '../physics/encoding.js';
import { decode, inspect, reducedDecode, type Decoded } from './decode.js';
import { blockSize, buildGrid, gridFromReduced } from './grid.js';
import { parseMatrixProfile, type MatrixProfile, type ToneCurve } from './icc.js';
import { readMetadata } from './metadata.js';
import { sniff } from './sniff.js';

/** What the photographer adds or overrules where the file is silent. */
export interface ReadOptions {
  readonly linear?: boolean;
  readonly iso?: number;
  readonly shutterSeconds?: number;
  readonly aperture?: number;
  readonly focalMm?: number;
  readonly pixelPitchUm?: number;
}

interface ReadResult {
  readonly frame: Frame;
  readonly widestAperture: number | null;
}

/** A frame on its way: the working grid may come before the frame itself. */
export interface OpenedFrame {
  readonly grid: Promise<Grid>;
  readonly frame: Promise<ReadResult>;
}

/**
 * Opens a JPEG, PNG or TIFF: upright samples, tables to linear light, settings, and the working grid.
 * Throws (or rejects with) PaintstopError for what is not a picture, cut short, damaged or beyond 250 megapixels.
 */
export async function openFrame(bytes: Uint8Array, file: string, options: ReadOptions = {}): Promise<OpenedFrame> {
  const format = sniff(bytes, file);
  const header = await inspect(bytes, file);
  const profile = header.icc === undefined ? null : parseMatrixProfile(new Uint8Array(header.icc));
  const convert = header.icc !== undefined && profile === null && options.linear !== true;
  const linear = options.linear === true || format.saysLinear(bytes);
  const reduced = convert ? null : reducedDecode(bytes, header, format.id, blockSize(header.width, header.height));
  const frame = finishFrame(bytes, file, options, format.id, linear, profile, decode(bytes, file, header, convert));
  // Each promise has its own reader; a fault is thrown where it is awaited, not in the meantime.
  frame.catch(() => undefined);
  const fromFrame = async (): Promise<Grid> => buildGrid((await frame).frame);
  const grid =
    reduced === null
      ? fromFrame()
      : reduced.then(({ samples, width, height, blockPx }) => {
          const tone = toneOf(profile, linear, 8);
          return gridFromReduced(samples, width, height, blockPx, tone.tables, tone.toSrgbPrimaries);
        }, fromFrame);
  grid.catch(() => undefined);
  return { grid, frame };
}

async function finishFrame(
  bytes: Uint8Array,
  file: string,
  options: ReadOptions,
  container: Container,
  linear: boolean,
  profile: MatrixProfile | null,
  decoding: Promise<Decoded>,
): Promise<ReadResult> {
  const decoded = await decoding;
  const metadata = await readMetadata(bytes, decoded.widthPx, decoded.heightPx);
  const warnings: Warning[] = [...metadata.warnings];
  if (decoded.damaged)
    warnings.push({ code: 'damaged-data', message: 'Part of the picture data is damaged; the readings may be off.' });
  const curve = toneOf(decoded.convertedToSrgb ? null : profile, linear, decoded.bitsPerChannel);
  const encoding: Encoding = {
    container,
    bitsPerChannel: decoded.bitsPerChannel,
    response: curve.response,
    levelUncertaintyStops: uncertaintyOf(curve.response, decoded.bitsPerChannel),
  };
  const settings = withOverrides(metadata.settings, options);
  warnings.push(...missing(settings));
  const frame: Frame = {
    file,
    widthPx: decoded.widthPx,
    heightPx: decoded.heightPx,
    samples: decoded.samples,
    toLinear: curve.tables,
    toSrgbPrimaries: curve.toSrgbPrimaries,
    clipSample: { 8: 254, 16: 65278, 32: 65278 / 65535 }[decoded.bitsPerChannel],
    encoding,
    settings,
    warnings,
  };
  return { frame, widestAperture: metadata.widestAperture };
}

function toneOf(
  profile: MatrixProfile | null,
  linear: boolean,
  bits: 8 | 16 | 32,
): {
  tables: [Float32Array, Float32Array, Float32Array];
  toSrgbPrimaries: readonly number[] | null;
  response: Response;
} {
  const toSrgbPrimaries = profile?.toSrgbPrimaries ?? null;
  if (linear || bits === 32) return { tables: same(tabulate((v) => v, bits)), toSrgbPrimaries, response: 'linear' };
  if (profile === null) return { tables: same(tabulate(srgbToLinear, bits)), toSrgbPrimaries: null, response: 'srgb' };
  const [red, green, blue] = profile.curves;
  return {
    tables: [tabulate(red, bits), tabulate(green, bits), tabulate(blue, bits)],
    toSrgbPrimaries,
    response: profile.response,
  };
}

function same(table: Float32Array): [Float32Array, Float32Array, Float32Array] {
  return [table, table, table];
}

function tabulate(curve: ToneCurve, bits: 8 | 16 | 32): Float32Array {
  if (bits === 32) return new Float32Array(0);
  const full = bits === 8 ? 255 : 65535;
  return Float32Array.from({ length: full + 1 }, (_, value) => curve(value / full));
}

/**
 * One standard deviation of a level, in stops. A linear file holds the sensor's light. A display file went through a
 * developer's or a camera's tone curve that a single picture cannot yield (references: section 7). Common practice, no source.
 */
function uncertaintyOf(response: Response, bits: 8 | 16 | 32): number {
  if (response === 'linear') return 0.05;
  return bits === 8 ? 0.5 : 0.3;
}

function withOverrides(settings: Settings, options: ReadOptions): Settings {
  return {
    ...settings,
    iso: options.iso ?? settings.iso,
    shutterSeconds: options.shutterSeconds ?? settings.shutterSeconds,
    aperture: options.aperture ?? settings.aperture,
    focalMm: options.focalMm ?? settings.focalMm,
    pixelPitchUm: options.pixelPitchUm ?? settings.pixelPitchUm,
  };
}

function missing(settings: Settings): Warning[] {
  const warnings: Warning[] = [];
  const exposure: string[] = [];
  if (settings.iso === null) exposure.push('ISO (--iso)');
  if (settings.shutterSeconds === null) exposure.push('shutter time (--shutter)');
  if (settings.aperture === null) exposure.push('aperture (--aperture)');
  if (exposure.length > 0)
    warnings.push({
      code: 'no-exposure-data',
      message: `The file does not tell the ${exposure.join(', ')}; without it changes are given as factors.`,
    });
  const lens: string[] = [];
  if (settings.focalMm === null) lens.push('focal length (--focal)');
  if (settings.pixelPitchUm === null) lens.push('pixel pitch (--pixel-pitch)');
  if (lens.length > 0)
    warnings.push({
      code: 'no-lens-data',
      message: `The file does not tell the ${lens.join(' or the ')}; the trailing limit needs it.`,
    });
  return warnings;
}

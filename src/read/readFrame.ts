import { curveTables, type CurveRecord } from '../calibration/cameraCurve.js';
import { PaintstopError } from '../errors.js';
import type { Container, Encoding, Frame, Response, Settings, Warning } from '../model/frame.js';
import type { Grid } from '../model/regions.js';
import { LUMINANCE_WEIGHTS, srgbToLinear } from '../physics/encoding.js';
import { decode, inspect, reducedDecode, type Decoded, type Header } from './decode.js';
import { blockSize, buildGrid, gridFromReduced } from './grid.js';
import { parseMatrixProfile, type MatrixProfile, type ToneCurve } from './icc.js';
import { curveKeyOf, readMetadata, type Metadata } from './metadata.js';
import type { UnpackedRaw } from './raw/unpack.js';
import { rawFrame } from './readRaw.js';
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

/** What reading borrows from the machine. */
export interface ReadTools {
  /** Unpacks a camera raw file, away from this thread. */
  readonly unpackRaw?: (bytes: Uint8Array, file: string) => Promise<UnpackedRaw>;
  /** Display curves of cameras seen before, by key. */
  readonly curves?: ReadonlyMap<string, CurveRecord>;
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
 * Opens a JPEG, PNG, TIFF or camera raw file: upright samples, tables to linear light, settings, and the working grid.
 * Throws (or rejects with) PaintstopError for what is not a picture, cut short, damaged or beyond 250 megapixels.
 */
export async function openFrame(
  bytes: Uint8Array,
  file: string,
  options: ReadOptions = {},
  tools: ReadTools = {},
): Promise<OpenedFrame> {
  const format = sniff(bytes, file);
  if (format.id === 'raw') return openRaw(bytes, file, options, tools);
  const header = await inspect(bytes, file);
  const profile = header.icc === undefined ? null : parseMatrixProfile(new Uint8Array(header.icc));
  const linear = options.linear === true || format.saysLinear(bytes);
  const known = linear || format.id !== 'jpeg' || header.space !== 'srgb' ? null : await knownTone(bytes, tools);
  const convert = header.icc !== undefined && profile === null && known === null && !linear;
  const reduced = convert ? null : reducedDecode(bytes, header, format.id, blockSize(header.width, header.height));
  const frame = finishFrame(
    file,
    options,
    format.id,
    { linear, profile, known },
    decode(bytes, file, header, convert),
    readMetadata(bytes, ...uprightSize(header)),
  );
  // Each promise has its own reader; a fault is thrown where it is awaited, not in the meantime.
  frame.catch(() => undefined);
  const fromFrame = async (): Promise<Grid> => buildGrid((await frame).frame);
  const grid =
    reduced === null
      ? fromFrame()
      : reduced.then(({ samples, width, height, blockPx }) => {
          const tone = known ?? toneOf(profile, linear, 8);
          const colours = { toSrgbPrimaries: tone.toSrgbPrimaries, ...DISPLAY_COLOURS };
          return gridFromReduced(samples, width, height, blockPx, tone.tables, colours);
        }, fromFrame);
  grid.catch(() => undefined);
  return { grid, frame };
}

async function openRaw(bytes: Uint8Array, file: string, options: ReadOptions, tools: ReadTools): Promise<OpenedFrame> {
  if (tools.unpackRaw === undefined)
    throw new PaintstopError('camera-raw', `${file} is a camera raw file, which is not read here`);
  const { frame, widestAperture } = await rawFrame(await tools.unpackRaw(bytes, file), bytes, file);
  const settings = withOverrides(frame.settings, options);
  const told = { ...frame, settings, warnings: [...frame.warnings, ...missing(settings)] };
  return { grid: Promise.resolve(buildGrid(told)), frame: Promise.resolve({ frame: told, widestAperture }) };
}

/** Orientations from 5 on turn the picture by a right angle. */
function uprightSize({ width, height, orientation = 1 }: Header): [widthPx: number, heightPx: number] {
  return orientation >= 5 ? [height, width] : [width, height];
}

/** Pictures made for a display are neutral already. */
const DISPLAY_COLOURS = { luminanceWeights: LUMINANCE_WEIGHTS, balance: [1, 1, 1] as const };

async function finishFrame(
  file: string,
  options: ReadOptions,
  container: Container,
  told: { linear: boolean; profile: MatrixProfile | null; known: Tone | null },
  decoding: Promise<Decoded>,
  describing: Promise<Metadata>,
): Promise<ReadResult> {
  const decoded = await decoding;
  const metadata = await describing;
  const warnings: Warning[] = [...metadata.warnings];
  if (decoded.damaged)
    warnings.push({ code: 'damaged-data', message: 'Part of the picture data is damaged; the readings may be off.' });
  const profile = decoded.convertedToSrgb ? null : told.profile;
  const curve = told.known ?? toneOf(profile, told.linear, decoded.bitsPerChannel);
  const encoding: Encoding = {
    container,
    bitsPerChannel: decoded.bitsPerChannel,
    response: curve.response,
    levelUncertaintyStops: curve.errorStops ?? uncertaintyOf(curve.response, decoded.bitsPerChannel),
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
    ...DISPLAY_COLOURS,
    crushedSample: { 8: 1, 16: 16, 32: 1 / 255 }[decoded.bitsPerChannel],
    clipSample: { 8: 254, 16: 65278, 32: 65278 / 65535 }[decoded.bitsPerChannel],
    encoding,
    settings,
    warnings,
  };
  return { frame, widestAperture: metadata.widestAperture };
}

/** How stored values become linear light. */
interface Tone {
  readonly tables: [Float32Array, Float32Array, Float32Array];
  readonly toSrgbPrimaries: readonly number[] | null;
  readonly response: Response;
  /** Known for a fitted curve only. */
  readonly errorStops?: number;
}

/** The display curve that pairs have shown for this JPEG's camera and picture mode; null when none is known. */
async function knownTone(bytes: Uint8Array, { curves }: ReadTools): Promise<Tone | null> {
  if (curves === undefined || curves.size === 0) return null;
  const record = curves.get(await curveKeyOf(bytes));
  const tables = record === undefined ? null : curveTables(record);
  return tables === null ? null : { tables, toSrgbPrimaries: null, response: 'camera', errorStops: record!.errorStops };
}

function toneOf(profile: MatrixProfile | null, linear: boolean, bits: 8 | 16 | 32): Tone {
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

import exifr from 'exifr';
import { UNNAMED_CAMERA } from '../calibration/cameraCurve.js';
import type { Settings, Warning } from '../model/frame.js';

type Tags = Readonly<Record<number, unknown>>;

/** Exif tag numbers, CIPA DC-008 (Exif 2.32 and 3.0). */
const TAG = {
  make: 271,
  model: 272,
  software: 305,
  dateTime: 306,
  exposureTime: 33434,
  fNumber: 33437,
  sensitivity: 34855,
  standardOutputSensitivity: 34865,
  recommendedExposureIndex: 34866,
  isoSpeed: 34867,
  dateTimeOriginal: 36867,
  offsetTime: 36880,
  offsetTimeOriginal: 36881,
  shutterSpeedValue: 37377,
  apertureValue: 37378,
  maxApertureValue: 37381,
  focalLength: 37386,
  subSecTimeOriginal: 37521,
  pixelXDimension: 40962,
  pixelYDimension: 40963,
  focalPlaneXResolution: 41486,
  focalPlaneYResolution: 41487,
  focalPlaneResolutionUnit: 41488,
  focalLengthIn35mm: 41989,
  colourSpace: 40961,
  customRendered: 41985,
  contrast: 41992,
  saturation: 41993,
  sharpness: 41994,
  compositeImage: 42080,
  lensSpecification: 42034,
  lensModel: 42036,
} as const;

const GPS = { latitudeRef: 1, latitude: 2, longitudeRef: 3, longitude: 4 } as const;

export interface Metadata {
  readonly settings: Settings;
  /** Smallest f-number the lens is said to have. */
  readonly widestAperture: number | null;
  readonly hasCamera: boolean;
  readonly warnings: readonly Warning[];
}

/** Reads what the file says of itself. Never throws: damaged metadata is missing metadata. Sizes are upright pixels. */
export async function readMetadata(bytes: Uint8Array, widthPx: number, heightPx: number): Promise<Metadata> {
  const warnings: Warning[] = [];
  const { main, gps } = await parse(bytes);
  const composite = number(main[TAG.compositeImage]);
  if (composite === 2 || composite === 3)
    warnings.push({
      code: 'composite-image',
      message:
        'The file says that it was put together from several exposures; the readings hold for single frames only.',
    });
  const settings: Settings = {
    iso: isoOf(main),
    shutterSeconds: shutterOf(main),
    aperture: apertureOf(main),
    focalMm: within(positive(main[TAG.focalLength]), POSSIBLE.focalMm),
    pixelPitchUm: pitchOf(main, widthPx, heightPx),
    widthPx,
    heightPx,
    takenAt: takenAtOf(main),
    camera: cameraOf(main),
    lens: words(main[TAG.lensModel]),
    position: positionOf(gps),
  };
  return { settings, widestAperture: widestOf(main), hasCamera: settings.camera !== null, warnings };
}

/**
 * Camera, firmware and picture mode: JPEGs alike in these went through one display curve. Where no camera is named that holds for the frames
 * of one call only.
 */
export async function curveKeyOf(bytes: Uint8Array): Promise<string> {
  const { main } = await parse(bytes);
  const camera = cameraOf(main) ?? UNNAMED_CAMERA;
  const mode = [TAG.colourSpace, TAG.customRendered, TAG.contrast, TAG.saturation, TAG.sharpness].map(
    (tag) => number(main[tag]) ?? '-',
  );
  return `${camera} | ${words(main[TAG.software]) ?? '-'} | ${mode.join(' ')}`;
}

async function parse(bytes: Uint8Array): Promise<{ main: Tags; gps: Tags }> {
  try {
    const blocks = (await exifr.parse(Buffer.from(bytes.buffer, bytes.byteOffset, bytes.byteLength), {
      tiff: true,
      ifd0: {},
      exif: true,
      gps: true,
      xmp: false,
      icc: false,
      iptc: false,
      jfif: false,
      ihdr: false,
      translateKeys: false,
      translateValues: false,
      reviveValues: false,
      sanitize: false,
      mergeOutput: false,
    })) as Record<string, Record<number, unknown>> | undefined;
    return { main: { ...blocks?.['ifd0'], ...blocks?.['exif'] }, gps: blocks?.['gps'] ?? {} };
  } catch {
    return { main: {}, gps: {} };
  }
}

function number(value: unknown): number | null {
  const first: unknown = Array.isArray(value) || ArrayBuffer.isView(value) ? (value as ArrayLike<unknown>)[0] : value;
  return typeof first === 'number' && Number.isFinite(first) ? first : null;
}

function positive(value: unknown): number | null {
  const n = number(value);
  return n !== null && n > 0 && n < 1e7 ? n : null;
}

/** What no camera or lens goes beyond; a figure outside is damage, and counts as not told. */
const POSSIBLE = {
  shutterSeconds: [1 / 200_000, 100_000],
  aperture: [0.5, 100],
  focalMm: [1, 5000],
  // Wide in a picture made small.
  pixelPitchUm: [0.4, 3000],
} as const;

function within(value: number | null, [least, most]: readonly [number, number]): number | null {
  return value !== null && value >= least && value <= most ? value : null;
}

/** Printable words only: a file must not be able to write to the terminal. */
function words(value: unknown): string | null {
  if (typeof value !== 'string') return null;
  const clean = value
    .replace(/\p{C}+/gu, ' ')
    .replace(/\s+/g, ' ')
    .trim()
    .slice(0, 80);
  return clean === '' ? null : clean;
}

/** The 16-bit field stops at 65535; beyond, the 32-bit fields of Exif 2.3 hold the figure. */
function isoOf(tags: Tags): number | null {
  const short = positive(tags[TAG.sensitivity]);
  if (short !== null && short < 65535) return short;
  for (const tag of [TAG.recommendedExposureIndex, TAG.standardOutputSensitivity, TAG.isoSpeed]) {
    const long = positive(tags[tag]);
    if (long !== null) return long;
  }
  return short;
}

/** ExposureTime, else APEX: t = 2^-Tv. */
function shutterOf(tags: Tags): number | null {
  const direct = within(positive(tags[TAG.exposureTime]), POSSIBLE.shutterSeconds);
  if (direct !== null) return direct;
  const apex = number(tags[TAG.shutterSpeedValue]);
  if (apex === null || Math.abs(apex) > 20) return null;
  const seconds = 2 ** -apex;
  const whole = Math.round(seconds);
  return seconds > 0.9 && Math.abs(seconds - whole) / seconds < 0.02 ? whole : Number(seconds.toPrecision(6));
}

/** FNumber, else APEX: N = 2^(Av/2). A manual lens writes 0 in both: not known. */
function apertureOf(tags: Tags): number | null {
  const direct = within(positive(tags[TAG.fNumber]), POSSIBLE.aperture);
  if (direct !== null) return direct;
  const apex = positive(tags[TAG.apertureValue]);
  return apex === null || apex > 14 ? null : Math.round(2 ** (apex / 2) * 10) / 10;
}

function widestOf(tags: Tags): number | null {
  const specification = tags[TAG.lensSpecification] as ArrayLike<unknown> | undefined;
  const fromLens = typeof specification === 'object' ? positive(specification[2]) : null;
  if (fromLens !== null && fromLens < 40) return fromLens;
  const apex = positive(tags[TAG.maxApertureValue]);
  return apex === null || apex > 10 ? null : Math.round(2 ** (apex / 2) * 10) / 10;
}

/** Diagonal of the 36 x 24 mm frame that 35 mm equivalents refer to (CIPA DCG-001). */
const FULL_FRAME_DIAGONAL_MM = Math.hypot(36, 24);

/** Focal-plane resolution at the recorded size, carried to this file's size; checked against the 35 mm equivalent. */
function pitchOf(tags: Tags, widthPx: number, heightPx: number): number | null {
  const equivalent = positive(tags[TAG.focalLengthIn35mm]);
  const focal = positive(tags[TAG.focalLength]);
  const fromEquivalent =
    equivalent !== null && focal !== null
      ? ((FULL_FRAME_DIAGONAL_MM * focal) / equivalent / Math.hypot(widthPx, heightPx)) * 1000
      : null;
  const resolution = positive(tags[TAG.focalPlaneXResolution]) ?? positive(tags[TAG.focalPlaneYResolution]);
  const unitUm = { 2: 25400, 3: 10000, 4: 1000, 5: 1 }[number(tags[TAG.focalPlaneResolutionUnit]) ?? 2] ?? null;
  let fromPlane: number | null = null;
  if (resolution !== null && unitUm !== null) {
    const recorded = Math.max(positive(tags[TAG.pixelXDimension]) ?? 0, positive(tags[TAG.pixelYDimension]) ?? 0);
    const now = Math.max(widthPx, heightPx);
    fromPlane = (unitUm / resolution) * (recorded > 0 ? recorded / now : 1);
    const sensorMm = (fromPlane * now) / 1000;
    if (sensorMm < 3 || sensorMm > 70) fromPlane = null;
  }
  if (fromPlane === null) return rounded(fromEquivalent);
  // An editor that resizes may rewrite the pixel size and leave the resolution: then the equivalent tells.
  const apart = fromEquivalent === null ? 1 : fromEquivalent / fromPlane;
  return rounded(apart > 1.3 || apart < 0.77 ? fromEquivalent : fromPlane);
}

function rounded(value: number | null): number | null {
  const possible = within(value, POSSIBLE.pixelPitchUm);
  return possible === null ? null : Number(possible.toPrecision(5));
}

function takenAtOf(tags: Tags): string | null {
  const original = words(tags[TAG.dateTimeOriginal]);
  const stamp = original ?? words(tags[TAG.dateTime]);
  const parts = /^(\d{4})[:-](\d\d)[:-](\d\d)[ T](\d\d):(\d\d):(\d\d)/.exec(stamp ?? '');
  if (parts === null) return null;
  const [, year, month, day, hour, minute, second] = parts;
  if (Number(month) < 1 || Number(month) > 12 || Number(day) < 1 || Number(day) > 31 || Number(hour) > 23) return null;
  const fraction = original === null ? null : /^\d{1,9}/.exec(words(tags[TAG.subSecTimeOriginal]) ?? '');
  const zone = words(tags[original === null ? TAG.offsetTime : TAG.offsetTimeOriginal]) ?? '';
  const offset = /^[+-](0\d|1[0-4]):[0-5]\d$/.test(zone) ? zone : '';
  return `${year!}-${month!}-${day!}T${hour!}:${minute!}:${second!}${fraction === null ? '' : `.${fraction[0]}`}${offset}`;
}

function cameraOf(tags: Tags): string | null {
  const make = words(tags[TAG.make]);
  const model = words(tags[TAG.model]);
  if (make === null || model === null) return model ?? make;
  return model.toLowerCase().startsWith(make.toLowerCase()) ? model : `${make} ${model}`;
}

function positionOf(gps: Tags): Settings['position'] {
  const latitude = degrees(gps[GPS.latitude], gps[GPS.latitudeRef], 'S', 90);
  const longitude = degrees(gps[GPS.longitude], gps[GPS.longitudeRef], 'W', 180);
  if (latitude === null || longitude === null) return null;
  return { latitudeDeg: latitude, longitudeDeg: longitude };
}

function degrees(value: unknown, reference: unknown, negative: string, most: number): number | null {
  if (typeof value !== 'object' || value === null) return null;
  const parts = Array.from(value as ArrayLike<unknown>).map(number);
  const [whole, minutes, seconds] = parts;
  if (whole === null || whole === undefined) return null;
  const angle = whole + (minutes ?? 0) / 60 + (seconds ?? 0) / 3600;
  if (angle > most || angle < 0) return null;
  const sign = typeof reference === 'string' && reference.toUpperCase().startsWith(negative) ? -1 : 1;
  return Number((sign * angle).toFixed(6));
}

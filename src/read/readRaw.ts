import { PaintstopError } from '../errors.js';
import type { Frame, Settings, Warning } from '../model/frame.js';
import { readMetadata, type Metadata } from './metadata.js';
import { CLIP_SAMPLE, PEDESTAL, SCALE } from './raw/develop.js';
import type { RawFacts, UnpackedRaw } from './raw/unpack.js';

/** Rows without a picture: more than this part is no frame; fewer are told. */
const MOST_EMPTY_ROWS = 0.4;

/** One standard deviation of a raw level, stops: response and white level of sensors (common practice, no source). */
const UNCERTAINTY_STOPS = 0.03;

/** Light so near to black level that nothing is left of it. */
const CRUSHED_LIGHT = 0.0002;

/** A frame from an unpacked raw file: sensor colours without white balance, green for luminance. */
export async function rawFrame(
  unpacked: UnpackedRaw,
  bytes: Uint8Array,
  file: string,
): Promise<{ frame: Frame; widestAperture: number | null }> {
  const { widthPx, heightPx, samples } = unpacked;
  if (unpacked.emptyRows > MOST_EMPTY_ROWS)
    throw new PaintstopError('damaged-raw', `${file} is damaged: most of its raw data is empty`);
  const metadata = await readMetadata(bytes, widthPx, heightPx);
  const warnings: Warning[] = [...metadata.warnings];
  if (unpacked.emptyRows > 0.004)
    warnings.push({ code: 'damaged-data', message: 'Part of the raw data is missing; the readings may be off.' });
  if (unpacked.whiteFound)
    warnings.push({
      code: 'white-level-from-data',
      message: 'The sensor saturates at another level than the file says; the level found in the frame is used.',
    });
  const table = Float32Array.from({ length: 65536 }, (_, sample) => (sample - PEDESTAL) / SCALE);
  const frame: Frame = {
    file,
    widthPx,
    heightPx,
    samples,
    toLinear: [table, table, table],
    toSrgbPrimaries: null,
    luminanceWeights: [0, 1, 0],
    balance: unpacked.balance,
    filters: unpacked.uprightFilters,
    clipSample: CLIP_SAMPLE,
    crushedSample: PEDESTAL + CRUSHED_LIGHT * SCALE,
    encoding: {
      container: 'raw',
      bitsPerChannel: unpacked.bits,
      response: 'linear',
      levelUncertaintyStops: UNCERTAINTY_STOPS,
      sensor: {
        filters: unpacked.filters,
        black: unpacked.black,
        white: unpacked.white,
        whiteFrom: unpacked.whiteFound ? 'data' : 'header',
      },
    },
    settings: settingsOf(metadata, unpacked.facts, widthPx, heightPx),
    warnings,
  };
  return { frame, widestAperture: metadata.widestAperture };
}

/** The file's own Exif first; where its container hides it, what the unpacker found. */
function settingsOf({ settings }: Metadata, facts: RawFacts, widthPx: number, heightPx: number): Settings {
  const focalMm = settings.focalMm ?? facts.focalMm;
  const fromEquivalent =
    focalMm !== null && facts.focal35Mm !== null
      ? (Math.hypot(36, 24) * focalMm * 1000) / facts.focal35Mm / Math.hypot(widthPx, heightPx)
      : null;
  return {
    ...settings,
    iso: settings.iso ?? facts.iso,
    shutterSeconds: settings.shutterSeconds ?? facts.shutterSeconds,
    aperture: settings.aperture ?? facts.aperture,
    focalMm,
    pixelPitchUm: settings.pixelPitchUm ?? (fromEquivalent === null ? null : Number(fromEquivalent.toPrecision(5))),
    takenAt: settings.takenAt ?? facts.takenAt,
    camera: settings.camera ?? (printed(`${facts.make} ${facts.model}`) || null),
    lens: settings.lens ?? (printed(facts.lens) || null),
  };
}

function printed(text: string): string {
  return text
    .replace(/\p{C}+/gu, ' ')
    .trim()
    .slice(0, 80);
}

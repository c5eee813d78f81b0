import sharp from 'sharp';
import { linearToSrgb } from '../physics/encoding.js';
import { encodeDng } from './dng.js';
import type { Shot } from './shoot.js';

/** `linear`: 16-bit TIFF of linear light. `srgb16`: 16-bit TIFF, sRGB curve. `jpeg`: 8-bit, sRGB curve. `camera`: 8-bit JPEG with a camera's own tone curve. `raw`: Bayer DNG. */
export const FILE_KINDS = ['linear', 'srgb16', 'jpeg', 'camera', 'raw'] as const;
export type FileKind = (typeof FILE_KINDS)[number];

/** A camera's display curve: `gainStops` of brightening before the sRGB curve, and an S of `contrast` (0 to 1) after it. */
export interface CameraCurve {
  readonly gainStops: number;
  readonly contrast: number;
}

function cameraTone(light: number, curve: CameraCurve): number {
  const lifted = light * 2 ** curve.gainStops;
  // Soft shoulder: straight to one half, then rolled so that the sensor's clip point lands on white.
  const rolled =
    lifted <= 0.5
      ? lifted
      : 0.5 + (0.5 * (1 - Math.exp(-(lifted - 0.5) / 0.5))) / (1 - Math.exp(-(2 ** curve.gainStops - 0.5) / 0.5));
  const encoded = linearToSrgb(Math.min(1, Math.max(0, rolled)));
  const s = encoded * encoded * (3 - 2 * encoded);
  return encoded + curve.contrast * (s - encoded);
}

const SCENE_CAMERA = 'Moorland Instruments';

/** Writes the shot as the bytes of a file, with Exif. */
export async function encodeShot(
  shot: Shot,
  kind: FileKind,
  curve: CameraCurve = { gainStops: 0.4, contrast: 0.3 },
  takenAt = '2026:07:14 23:10:00',
): Promise<Buffer> {
  if (kind === 'raw') return Buffer.from(encodeDng(shot, takenAt));
  const { widthPx: width, heightPx: height } = shot.spec;
  const encode =
    kind === 'linear'
      ? (light: number): number => light
      : kind === 'camera'
        ? (light: number): number => cameraTone(light, curve)
        : linearToSrgb;
  const table = new Float32Array(65537);
  for (let i = 0; i <= 65536; i++) table[i] = encode(i / 65536);
  const full = kind === 'linear' || kind === 'srgb16' ? 65535 : 255;
  const out = full === 255 ? new Uint8Array(shot.light.length) : new Uint16Array(shot.light.length);
  for (let i = 0; i < out.length; i++) {
    const light = Math.max(0, Math.min(1, shot.light[i]!));
    out[i] = Math.round(table[Math.round(light * 65536)]! * full);
  }
  const pipeline = sharp(out, { raw: { width, height, channels: 3 } }).withExif(exifOf(shot, takenAt));
  if (full === 65535)
    return pipeline.toColourspace('rgb16').tiff({ compression: 'deflate', predictor: 'horizontal' }).toBuffer();
  return pipeline.jpeg({ quality: 92, chromaSubsampling: '4:4:4' }).toBuffer();
}

function exifOf(shot: Shot, takenAt: string): Record<string, Record<string, string>> {
  const { settings, spec } = shot;
  const perCentimetre = Math.round((10000 / spec.pixelPitchUm) * 1000);
  return {
    IFD0: { Make: SCENE_CAMERA, Model: 'Tarn 1', Software: 'paintstop demo', DateTime: takenAt },
    IFD2: {
      ExposureTime: `${String(Math.round(settings.shutterSeconds * 1000))}/1000`,
      FNumber: `${String(Math.round(settings.aperture * 100))}/100`,
      ISOSpeedRatings: String(settings.iso),
      FocalLength: `${String(Math.round(spec.focalMm * 100))}/100`,
      FocalPlaneXResolution: `${String(perCentimetre)}/1000`,
      FocalPlaneYResolution: `${String(perCentimetre)}/1000`,
      FocalPlaneResolutionUnit: '3',
      DateTimeOriginal: takenAt,
      OffsetTimeOriginal: '+02:00',
      LensModel: `Tarn ${String(spec.focalMm)} mm f/2`,
      CompositeImage: '1',
    },
  };
}

import { round16, type TagValue, tiffBytes } from './tiffWriter.js';
import type { Shot } from './shoot.js';

/** A synthetic sensor: 14 bits, RGGB, with a black level that differs from site to site. */
const SCENE_SENSOR = {
  bits: 14,
  black: [512, 514, 510, 513],
  white: 15520,
  /** Light of a neutral surface as red, green and blue sites see it: what a DNG calls AsShotNeutral. */
  neutral: [0.52, 1, 0.66],
} as const;

/** Filter colours of the repeating square. */
const RGGB = [0, 1, 1, 2];

/** The shot's light as a site sees it, 1 = saturated: three channels through the sensor's own sensitivities. */
export function sensorLight(light: Float32Array, pixel: number, colour: number): number {
  return light[pixel * 3 + colour]! * SCENE_SENSOR.neutral[colour]!;
}

/**
 * The shot as an uncompressed Bayer DNG (DNG 1.7.1: one directory with the mosaic, an Exif directory below it). `orientation` is stored,
 * not applied.
 */
export function encodeDng(shot: Shot, takenAt: string, orientation = 1): Uint8Array {
  const { widthPx, heightPx, focalMm, pixelPitchUm } = shot.spec;
  const { black, white, neutral } = SCENE_SENSOR;
  const width = widthPx - (widthPx % 2);
  const height = heightPx - (heightPx % 2);
  const mosaic = new Uint16Array(width * height);
  const highest = Math.max(...black);
  for (let y = 0; y < height; y++)
    for (let x = 0; x < width; x++) {
      const place = (y % 2) * 2 + (x % 2);
      const light = sensorLight(shot.light, y * widthPx + x, RGGB[place]!);
      mosaic[y * width + x] = round16(Math.min(white, black[place]! + light * (white - highest)));
    }
  const { iso, shutterSeconds, aperture } = shot.settings;
  const perCentimetre = 10000 / pixelPitchUm;
  const exif: [number, TagValue][] = [
    [33434, { type: 'rational', values: [shutterSeconds] }],
    [33437, { type: 'rational', values: [aperture] }],
    [34855, { type: 'short', values: [Math.min(65535, iso)] }],
    [36867, { type: 'ascii', text: takenAt }],
    [36881, { type: 'ascii', text: '+02:00' }],
    [37386, { type: 'rational', values: [focalMm] }],
    [40962, { type: 'long', values: [width] }],
    [40963, { type: 'long', values: [height] }],
    [41486, { type: 'rational', values: [perCentimetre] }],
    [41487, { type: 'rational', values: [perCentimetre] }],
    [41488, { type: 'short', values: [3] }],
    [42036, { type: 'ascii', text: `Tarn ${String(focalMm)} mm f/2` }],
  ];
  const main: [number, TagValue][] = [
    [254, { type: 'long', values: [0] }],
    [256, { type: 'long', values: [width] }],
    [257, { type: 'long', values: [height] }],
    [258, { type: 'short', values: [16] }],
    [259, { type: 'short', values: [1] }],
    [262, { type: 'short', values: [32803] }],
    [271, { type: 'ascii', text: 'Moorland Instruments' }],
    [272, { type: 'ascii', text: 'Tarn 1' }],
    [273, { type: 'data', length: mosaic.byteLength }],
    [274, { type: 'short', values: [orientation] }],
    [277, { type: 'short', values: [1] }],
    [278, { type: 'long', values: [height] }],
    [279, { type: 'long', values: [mosaic.byteLength] }],
    [284, { type: 'short', values: [1] }],
    [305, { type: 'ascii', text: 'paintstop demo' }],
    [306, { type: 'ascii', text: takenAt }],
    [33421, { type: 'short', values: [2, 2] }],
    [33422, { type: 'byte', values: RGGB }],
    [34665, { type: 'directory', entries: exif }],
    [50706, { type: 'byte', values: [1, 4, 0, 0] }],
    [50707, { type: 'byte', values: [1, 1, 0, 0] }],
    [50708, { type: 'ascii', text: 'Moorland Instruments Tarn 1' }],
    [50713, { type: 'short', values: [2, 2] }],
    [50714, { type: 'long', values: black }],
    [50717, { type: 'long', values: [white] }],
    [50721, { type: 'srational', values: [3.2406, -1.5372, -0.4986, -0.9689, 1.8758, 0.0415, 0.0557, -0.204, 1.057] }],
    [50728, { type: 'rational', values: neutral }],
    [50778, { type: 'short', values: [21] }],
    [50829, { type: 'long', values: [0, 0, height, width] }],
  ];
  return tiffBytes(main, new Uint8Array(mosaic.buffer));
}

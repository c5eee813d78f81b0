import { LUMINANCE_WEIGHTS } from '../../src/physics/encoding.js';
import type { Frame } from '../../src/model/frame.js';

const IDENTITY = new Float32Array(0);

/** A linear grey frame of given light (1 = clipping), without metadata. */
export function linearFrame(width: number, height: number, light: ArrayLike<number>): Frame {
  const samples = new Float32Array(width * height * 3);
  for (let i = 0; i < width * height; i++) samples[i * 3] = samples[i * 3 + 1] = samples[i * 3 + 2] = light[i]!;
  return {
    file: 'made',
    widthPx: width,
    heightPx: height,
    samples,
    toLinear: [IDENTITY, IDENTITY, IDENTITY],
    toSrgbPrimaries: null,
    luminanceWeights: LUMINANCE_WEIGHTS,
    balance: [1, 1, 1],
    crushedSample: 1 / 255,
    clipSample: 65278 / 65535,
    encoding: { container: 'tiff', bitsPerChannel: 32, response: 'linear', levelUncertaintyStops: 0.05 },
    settings: {
      iso: null,
      shutterSeconds: null,
      aperture: null,
      focalMm: null,
      pixelPitchUm: null,
      widthPx: width,
      heightPx: height,
      takenAt: null,
      camera: null,
      lens: null,
      position: null,
    },
    warnings: [],
  };
}

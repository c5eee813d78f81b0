import type * as TensorFlow from '@tensorflow/tfjs-core';
import { CHANNELS, type Look } from './look.js';
import { readWeights } from './weights.js';

/** What the network holds of each cell pair: log odds of sky and of a source, row-major, two cells of the look to one. */
export interface Sight {
  readonly width: number;
  readonly height: number;
  readonly sky: Float32Array;
  readonly source: Float32Array;
}

export interface SkyNetwork {
  look(look: Look): Promise<Sight>;
}

export type Engine = Pick<
  typeof TensorFlow,
  'tensor4d' | 'tensor1d' | 'fused' | 'maxPool' | 'image' | 'concat' | 'tidy' | 'setBackend' | 'ready'
>;
type Tensor = TensorFlow.Tensor4D;

/** The frame's sides become multiples of this: the encoder halves them five times. */
const MULTIPLE = 32;

/** Puts the network of scripts/learn/model.py together on `tf`, whose backend is ready. */
export function buildNetwork(tf: Engine, bytes: Uint8Array): SkyNetwork {
  const layers = new Map(
    [...readWeights(bytes)].map(([name, { shape, kernel, bias }]) => [
      name,
      { kernel: tf.tensor4d(kernel, [...shape]), bias: tf.tensor1d(bias) },
    ]),
  );
  const convolve = (name: string, x: Tensor, activation: 'relu' | 'linear' = 'relu'): Tensor => {
    const { kernel, bias } = layers.get(name)!;
    return tf.fused.conv2d({ x, filter: kernel, strides: 1, pad: 'same', bias, activation });
  };
  const down = (x: Tensor): Tensor => tf.maxPool(x, 2, 2, 'valid');
  const up = (x: Tensor): Tensor => tf.image.resizeNearestNeighbor(x, [x.shape[1] * 2, x.shape[2] * 2]);
  const join = (x: Tensor, skip: Tensor): Tensor => tf.concat([up(x), skip], 3);
  const run = (x: Tensor): Tensor => {
    const x1 = convolve('in1', x);
    const x2 = convolve('in2b', convolve('in2', down(x1)));
    const x3 = convolve('in3b', convolve('in3', down(x2)));
    const x4 = convolve('in4b', convolve('in4', down(x3)));
    const x5 = convolve('in5b', convolve('in5', down(x4)));
    const x6 = convolve('in6b', convolve('in6', down(x5)));
    const y5 = convolve('out5', join(x6, x5));
    const y4 = convolve('out4', join(y5, x4));
    const y3 = convolve('out3', join(y4, x3));
    const y2 = convolve('out2', join(y3, x2));
    return convolve('head', y2, 'linear');
  };
  return {
    look: async (look) => {
      const input = padded(look);
      const answer = tf.tidy(() => run(tf.tensor4d(input.values, [1, input.height, input.width, CHANNELS])));
      const values = (await answer.data()) as Float32Array;
      const stride = answer.shape[2];
      answer.dispose();
      return trimmed(values, stride, Math.ceil(look.width / 2), Math.ceil(look.height / 2));
    },
  };
}

/** The look with its last row and column repeated up to whole multiples. */
function padded(look: Look): Look {
  const width = Math.ceil(look.width / MULTIPLE) * MULTIPLE;
  const height = Math.ceil(look.height / MULTIPLE) * MULTIPLE;
  const values = new Float32Array(width * height * CHANNELS);
  for (let y = 0; y < height; y++)
    for (let x = 0; x < width; x++) {
      const from = (Math.min(look.height - 1, y) * look.width + Math.min(look.width - 1, x)) * CHANNELS;
      for (let c = 0; c < CHANNELS; c++) values[(y * width + x) * CHANNELS + c] = look.values[from + c]!;
    }
  return { width, height, values };
}

function trimmed(values: Float32Array, stride: number, width: number, height: number): Sight {
  const sky = new Float32Array(width * height);
  const source = new Float32Array(width * height);
  for (let y = 0; y < height; y++)
    for (let x = 0; x < width; x++) {
      sky[y * width + x] = values[(y * stride + x) * 2]!;
      source[y * width + x] = values[(y * stride + x) * 2 + 1]!;
    }
  return { width, height, sky, source };
}

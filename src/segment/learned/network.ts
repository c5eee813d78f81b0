import type * as TensorFlow from '@tensorflow/tfjs-core';
import { CHANNELS, type Look } from './look.js';
import { EACH, readWeights } from './weights.js';

/** What the network holds of each cell pair: log odds of sky, of a source, and of land's being painted; row-major, two cells of the look to one. */
export interface Sight {
  readonly width: number;
  readonly height: number;
  readonly sky: Float32Array;
  readonly source: Float32Array;
  readonly painted: Float32Array;
}

export interface SkyNetwork {
  look(look: Look): Promise<Sight>;
}

export type Engine = Pick<
  typeof TensorFlow,
  'tensor4d' | 'tensor1d' | 'fused' | 'depthwiseConv2d' | 'add' | 'maxPool' | 'image' | 'tidy' | 'setBackend' | 'ready'
>;
type Tensor = TensorFlow.Tensor4D;

const ANSWERS = 3;

/** The first layer halves the frame. */
const FIRST = 'in1';

/** The frame's sides become multiples of this: the encoder halves them five times. */
const MULTIPLE = 32;

/** Puts the network of scripts/learn/model.py together on `tf`, whose backend is ready. */
export function buildNetwork(tf: Engine, bytes: Uint8Array): SkyNetwork {
  const layers = new Map(
    [...readWeights(bytes)].map(
      ([
        name,
        {
          shape: [high, wide, before, after],
          kernel,
          bias,
        },
      ]) => [
        name,
        bias === null
          ? { kernel: tf.tensor4d(kernel, [high, wide, after, before]), bias }
          : { kernel: tf.tensor4d(kernel, [high, wide, before, after]), bias: tf.tensor1d(bias) },
      ],
    ),
  );
  const convolve = (name: string, x: Tensor, activation: 'relu' | 'linear' = 'relu'): Tensor => {
    const { kernel, bias } = layers.get(name)!;
    const strides = name === FIRST ? 2 : 1;
    return tf.fused.conv2d({ x, filter: kernel, strides, pad: 'same', bias: bias!, activation });
  };
  // What has served is given back at once: memory that is touched for the first time costs more than the sums made in it.
  const after = (x: Tensor, next: (own: Tensor) => Tensor): Tensor => {
    const y = next(x);
    x.dispose();
    return y;
  };
  const separate = (name: string, x: Tensor): Tensor =>
    after(tf.depthwiseConv2d(x, layers.get(name + EACH)!.kernel, 1, 'same'), (own) => convolve(name, own));
  const down = (x: Tensor): Tensor => tf.maxPool(x, 2, 2, 'valid');
  const up = (x: Tensor): Tensor => tf.image.resizeNearestNeighbor(x, [x.shape[1] * 2, x.shape[2] * 2]);
  const more = (name: string, x: Tensor): Tensor => after(x, () => after(separate(name, x), (own) => tf.add(x, own)));
  const deeper = (name: string, x: Tensor): Tensor => after(down(x), (own) => separate(name, own));
  const join = (name: string, x: Tensor, skip: Tensor): Tensor => {
    const narrowed = after(x, (own) => convolve(name, own));
    const raised = after(narrowed, up);
    return after(skip, () => after(raised, (own) => tf.add(own, skip)));
  };
  const run = (x: Tensor): Tensor => {
    const x2 = more('in2', convolve(FIRST, x));
    const x3 = more('in3a', deeper('in3', x2));
    const x4 = more('in4b', more('in4a', deeper('in4', x3)));
    const x5 = more('in5b', more('in5a', deeper('in5', x4)));
    const x6 = more('in6b', more('in6a', deeper('in6', x5)));
    const y5 = more('out5', join('low5', x6, x5));
    const y4 = more('out4', join('low4', y5, x4));
    const y3 = more('out3', join('low3', y4, x3));
    const y2 = after(join('low2', y3, x2), (own) => convolve('out2', own));
    return after(y2, (own) => convolve('head', own, 'linear'));
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
  const plane = (answer: number): Float32Array => {
    const out = new Float32Array(width * height);
    for (let y = 0; y < height; y++)
      for (let x = 0; x < width; x++) out[y * width + x] = values[(y * stride + x) * ANSWERS + answer]!;
    return out;
  };
  return { width, height, sky: plane(0), source: plane(1), painted: plane(2) };
}

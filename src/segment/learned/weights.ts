import { PaintstopError } from '../../errors.js';

/** Ends the name of the layer that convolves each channel apart; it has no bias, and one kernel a channel: height x width x 1 x channels. */
export const EACH = '.each';

/** One convolution: kernel height x width x in x out, bias by output. */
export interface Layer {
  readonly shape: readonly [number, number, number, number];
  readonly kernel: Float32Array;
  readonly bias: Float32Array | null;
}

/**
 * Reads scripts/learn/model.py's file: uint32 length, JSON header, then 16-bit floats, little-endian.
 * Throws PaintstopError where the file is cut short or is no such file.
 */
export function readWeights(bytes: Uint8Array): ReadonlyMap<string, Layer> {
  const broken = (): PaintstopError =>
    new PaintstopError('damaged', 'The weights of the network are damaged', 'install paintstop again');
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  if (bytes.length < 8) throw broken();
  const start = 4 + view.getUint32(0, true);
  if (start > bytes.length) throw broken();
  let header: { layers: { name: string; shape: [number, number, number, number] }[] };
  try {
    header = JSON.parse(new TextDecoder().decode(bytes.subarray(4, start))) as typeof header;
  } catch {
    throw broken();
  }
  let at = start;
  const take = (count: number): Float32Array => {
    if (at + count * 2 > bytes.length) throw broken();
    const out = new Float32Array(count);
    for (let i = 0; i < count; i++, at += 2) out[i] = halfFloat(view.getUint16(at, true));
    return out;
  };
  const layers = new Map<string, Layer>();
  for (const { name, shape } of header.layers) {
    const kernel = take(shape[0] * shape[1] * shape[2] * shape[3]);
    layers.set(name, { shape, kernel, bias: name.endsWith(EACH) ? null : take(shape[3]) });
  }
  return layers;
}

const number = new Float32Array(1);
const bits32 = new Uint32Array(number.buffer);

/** IEEE 754-2008: binary16 into binary32, by moving its fields; the least numbers by arithmetic. */
function halfFloat(bits: number): number {
  const exponent = (bits >> 10) & 31;
  const fraction = bits & 1023;
  if (exponent === 0) return (bits & 0x8000 ? -1 : 1) * fraction * 2 ** -24;
  bits32[0] = ((bits & 0x8000) << 16) | ((exponent + 112) << 23) | (fraction << 13);
  return number[0]!;
}

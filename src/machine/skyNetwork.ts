import { createRequire } from 'node:module';
import { dirname, sep } from 'node:path';
import { openNetwork, type Engine, type SkyNetwork } from '../pipeline/openNetwork.js';

const own = createRequire(import.meta.url);

let opened: Promise<SkyNetwork> | null = null;

/** The network for sky and ground, opened at its first use and once a thread: on tfjs-node where it is installed, else on WebAssembly. */
export function skyNetwork(): Promise<SkyNetwork> {
  opened ??= engine().then(openNetwork);
  return opened;
}

async function engine(): Promise<Engine> {
  return (await nativeEngine()) ?? (await wasmEngine());
}

/** TensorFlow's own library is no dependency: it brings a binary that has to be fetched. Who has installed it gets it used. */
async function nativeEngine(): Promise<Engine | null> {
  try {
    const tf = own('@tensorflow/tfjs-node') as Engine;
    await tf.ready();
    return tf;
  } catch {
    return null;
  }
}

export async function wasmEngine(): Promise<Engine> {
  const tf = own('@tensorflow/tfjs-core') as Engine;
  const { setWasmPaths } = own('@tensorflow/tfjs-backend-wasm') as typeof import('@tensorflow/tfjs-backend-wasm');
  setWasmPaths(dirname(own.resolve('@tensorflow/tfjs-backend-wasm')) + sep);
  await tf.setBackend('wasm');
  await tf.ready();
  return tf;
}

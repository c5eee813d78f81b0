import { parentPort, workerData } from 'node:worker_threads';
import { PaintstopError } from '../errors.js';
import { loadLibRaw, unpackRaw } from '../pipeline/unpackRaw.js';

/** One raw file, then the thread ends, and its memory is given back. */
const { module, bytes, file } = workerData as { module: unknown; bytes: Uint8Array; file: string };
try {
  const unpacked = unpackRaw(await loadLibRaw(module), bytes, file);
  parentPort?.postMessage({ unpacked }, [unpacked.samples.buffer as ArrayBuffer]);
} catch (cause) {
  const told = cause instanceof PaintstopError ? { code: cause.code, message: cause.message } : null;
  parentPort?.postMessage({ told });
}

import { readFile } from 'node:fs/promises';
import { createRequire } from 'node:module';
import { dirname, join } from 'node:path';
import { Worker } from 'node:worker_threads';
import { PaintstopError, type ErrorCode } from '../errors.js';
import type { UnpackedRaw } from '../pipeline/unpackRaw.js';

/** No camera's file takes a tenth of this; a file made to take for ever is given up. */
const MOST_SECONDS = 60;

type Answer = { readonly unpacked: UnpackedRaw } | { readonly told: { code: ErrorCode; message: string } | null };

interface Compiler {
  compile(bytes: Uint8Array): Promise<unknown>;
}

let compiled: Promise<unknown> | null = null;

/** LibRaw, compiled once for all threads. */
function libraw(): Promise<unknown> {
  compiled ??= (async () => {
    const folder = dirname(createRequire(import.meta.url).resolve('libraw-wasm'));
    const bytes = await readFile(join(folder, 'libraw.wasm'));
    return (globalThis as unknown as { WebAssembly: Compiler }).WebAssembly.compile(bytes);
  })();
  return compiled;
}

/** Unpacks one raw file in a thread of its own, within limits of time and memory. Throws PaintstopError. */
export async function unpackRawApart(bytes: Uint8Array, file: string): Promise<UnpackedRaw> {
  const worker = new Worker(new URL('./rawWorker.js', import.meta.url), {
    workerData: { module: await libraw(), bytes, file },
    execArgv: [],
    resourceLimits: { maxOldGenerationSizeMb: 512 },
    stdout: true,
    stderr: true,
  });
  let timer: NodeJS.Timeout | undefined;
  try {
    const answer = await new Promise<Answer>((resolve, reject) => {
      worker.once('message', resolve);
      worker.once('error', () => {
        reject(new PaintstopError('damaged-raw', `${file} cannot be unpacked: it brought the unpacker down`));
      });
      worker.once('exit', () => {
        reject(new PaintstopError('damaged-raw', `${file} cannot be unpacked: the unpacker gave up on it`));
      });
      timer = setTimeout(() => {
        reject(
          new PaintstopError('too-slow', `${file} was not unpacked within ${String(MOST_SECONDS)} s and was given up`),
        );
      }, MOST_SECONDS * 1000);
    });
    if ('unpacked' in answer) return answer.unpacked;
    if (answer.told === null)
      throw new PaintstopError('damaged-raw', `${file} cannot be unpacked: its raw data is damaged`);
    throw PaintstopError.retold(answer.told.code, answer.told.message);
  } finally {
    clearTimeout(timer);
    await worker.terminate();
  }
}

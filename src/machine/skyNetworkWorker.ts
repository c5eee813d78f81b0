import { parentPort } from 'node:worker_threads';
import { PaintstopError, type ErrorCode } from '../errors.js';
import type { Look, Sight } from '../pipeline/openNetwork.js';
import { skyNetwork } from './skyNetwork.js';

export interface LookJob {
  readonly id: number;
  readonly look: Look;
}

export type LookAnswer = { readonly id: number } & (
  | { readonly sight: Sight }
  /** Null for a fault that has no code. */
  | { readonly told: { readonly code: ErrorCode; readonly message: string } | null }
);

const network = skyNetwork();
network.catch(() => undefined);

async function answer({ id, look }: LookJob): Promise<void> {
  try {
    const sight = await (await network).look(look);
    const planes = [sight.sky, sight.source, sight.painted];
    parentPort?.postMessage(
      { id, sight } satisfies LookAnswer,
      planes.map(({ buffer }) => buffer as ArrayBuffer),
    );
  } catch (cause) {
    const told = cause instanceof PaintstopError ? { code: cause.code, message: cause.message } : null;
    parentPort?.postMessage({ id, told } satisfies LookAnswer);
  }
}

parentPort?.on('message', (job: LookJob) => void answer(job));

import { parentPort } from 'node:worker_threads';
import type { Look, Sight } from '../pipeline/openNetwork.js';
import { skyNetwork } from './skyNetwork.js';

export interface LookJob {
  readonly id: number;
  readonly look: Look;
}

export type LookAnswer = { readonly id: number } & ({ readonly sight: Sight } | { readonly fault: string });

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
    const fault = cause instanceof Error ? cause.message : String(cause);
    parentPort?.postMessage({ id, fault } satisfies LookAnswer);
  }
}

parentPort?.on('message', (job: LookJob) => void answer(job));

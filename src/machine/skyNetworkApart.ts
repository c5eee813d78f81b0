import { Worker } from 'node:worker_threads';
import { PaintstopError } from '../errors.js';
import type { Look, Sight, SkyNetwork } from '../pipeline/openNetwork.js';
import type { LookAnswer, LookJob } from './skyNetworkWorker.js';

interface Waiting {
  resolve(sight: Sight): void;
  reject(cause: Error): void;
}

interface Thread {
  readonly worker: Worker;
  readonly waiting: Map<number, Waiting>;
}

const ENDED = 'the network cannot run in its thread';

let thread: Thread | null = null;
let asked = 0;

/**
 * The network in a thread of its own, for who reads one frame at a time: this thread goes on meanwhile. It begins to load at once, and does not
 * keep the process alive but while it is asked. A look rejects where the thread cannot run.
 */
export function skyNetworkApart(): Promise<SkyNetwork> {
  return new Promise((opened) => {
    thread ??= started();
    opened({ look: lookApart });
  });
}

function lookApart(look: Look): Promise<Sight> {
  return new Promise((resolve, reject) => {
    const { worker, waiting } = (thread ??= started());
    const id = ++asked;
    worker.ref();
    waiting.set(id, { resolve, reject });
    worker.postMessage({ id, look } satisfies LookJob);
  });
}

function started(): Thread {
  const own: Thread = {
    // Options of node itself may suit no thread (--input-type).
    worker: new Worker(new URL('./skyNetworkWorker.js', import.meta.url), { execArgv: [], stdout: true, stderr: true }),
    waiting: new Map(),
  };
  const { worker, waiting } = own;
  worker.on('message', (answer: LookAnswer) => {
    const asker = waiting.get(answer.id);
    waiting.delete(answer.id);
    if (waiting.size === 0) worker.unref();
    if ('sight' in answer) asker?.resolve(answer.sight);
    else
      asker?.reject(
        answer.told === null ? new Error(ENDED) : PaintstopError.retold(answer.told.code, answer.told.message),
      );
  });
  const ended = (cause: Error): void => {
    if (thread === own) thread = null;
    for (const asker of waiting.values()) asker.reject(cause);
    waiting.clear();
  };
  worker.once('error', ended);
  worker.once('exit', () => {
    ended(new Error(ENDED));
  });
  worker.unref();
  return own;
}

import { availableParallelism } from 'node:os';
import { Tinypool } from 'tinypool';
import type { NightAnswer, NightJob } from './nightWorker.js';

export type { NightAnswer, NightJob } from './nightWorker.js';

/** Reads frames on all cores, one frame a thread at a time; `told` is called as each is done. `stop` ends it between frames. */
export async function readOnAllCores(
  jobs: readonly NightJob[],
  threads: number | null,
  told: (answer: NightAnswer, job: NightJob) => Promise<void> | void,
  stop: () => boolean,
): Promise<void> {
  const most = Math.max(1, Math.min(threads ?? availableParallelism(), jobs.length));
  const pool = new Tinypool({
    filename: new URL('./nightWorker.js', import.meta.url).href,
    runtime: 'worker_threads',
    minThreads: most,
    maxThreads: most,
    isolateWorkers: false,
  });
  let next = 0;
  const lane = async (): Promise<void> => {
    while (next < jobs.length && !stop()) {
      const job = jobs[next++]!;
      const answer = await (pool.run(job) as Promise<NightAnswer>).catch((): NightAnswer => ({
        code: 'damaged',
        message: `${job.name} brought its reader down and was left out; copy it again from the card.`,
      }));
      await told(answer, job);
    }
  };
  try {
    await Promise.all(Array.from({ length: most }, lane));
  } finally {
    await pool.destroy();
  }
}

import { Tinypool } from 'tinypool';
import type { WatchAnswer, WatchJob } from './watchWorker.js';

/** After so many frames the thread is replaced, and with it whatever its libraries have piled up. */
const FRAMES_A_THREAD = 50;

export interface WatchReader {
  read(job: NonNullable<WatchJob>): Promise<WatchAnswer>;
  close(): Promise<void>;
}

/** One thread that reads frames as they come; it starts at once, so that the first frame need not wait for it. */
export function startWatchReader(): WatchReader {
  const pool = new Tinypool({
    filename: new URL('./watchWorker.js', import.meta.url).href,
    runtime: 'worker_threads',
    minThreads: 1,
    maxThreads: 1,
    isolateWorkers: false,
  });
  void (pool.run(null) as Promise<WatchAnswer>).catch(() => null);
  let read = 0;
  return {
    read: async (job) => {
      const answer = await (pool.run(job) as Promise<WatchAnswer>).catch((): WatchAnswer => ({
        code: 'damaged',
        message: `${job.name} brought its reader down and was left out; copy it again from the card.`,
        mark: '',
      }));
      if (++read % FRAMES_A_THREAD === 0) {
        await pool.recycleWorkers().catch(() => undefined);
        void (pool.run(null) as Promise<WatchAnswer>).catch(() => null);
      }
      return answer;
    },
    close: () => pool.destroy(),
  };
}

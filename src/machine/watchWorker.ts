import { isWhole } from '../pipeline/isWhole.js';
import { contentMark, readBytes } from './files.js';
import { failureOf, recordOf, type NightAnswer, type NightJob } from './nightWorker.js';

/** Null only starts the thread, so that the first frame need not wait for it. */
export type WatchJob = (NightJob & { readonly marks: readonly string[]; readonly patient: boolean }) | null;

export type WatchAnswer =
  | (NightAnswer & { readonly mark: string })
  /** The copy has not ended: nothing was read of it. */
  | { readonly partOf: string }
  /** These very bytes were answered before. */
  | { readonly again: string }
  | null;

/** Reads an arrived frame: the bytes that are found whole are the bytes that are read. `patient`: what may be whole is taken to be. */
export default async function readArrival(job: WatchJob): Promise<WatchAnswer> {
  if (job === null) return null;
  try {
    const bytes = await readBytes(job.file);
    if (!isWhole(bytes, job.patient)) return { partOf: job.file };
    const beside = job.jpeg === null ? null : await readBytes(job.jpeg);
    if (job.jpeg !== null && beside !== null && !isWhole(beside, job.patient)) return { partOf: job.jpeg };
    const mark = contentMark(bytes);
    if (job.marks.includes(mark)) return { again: mark };
    try {
      return { ...(await recordOf(job, bytes, beside)), mark };
    } catch (cause) {
      return { ...failureOf(job, cause), mark };
    }
  } catch (cause) {
    return { ...failureOf(job, cause), mark: '' };
  }
}

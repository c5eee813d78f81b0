import { basename } from 'node:path';
import { PaintstopError } from '../errors.js';
import type { FrameRecord } from '../model/night.js';
import type { CurveRecord } from '../pipeline/cameraCurve.js';
import { recordFrame, withLamps, type NightOptions, type Sketch } from '../pipeline/recordFrame.js';
import { contentMark, isMarkedPng, readBytes } from './files.js';
import { unpackRawApart } from './rawDecoder.js';
import { skyNetwork } from './skyNetwork.js';
import { recordKey, storedRecord, storeRecord } from './recordCache.js';

/** One frame to be read in a thread of the pool. Pixels stay in the thread; only the record leaves it. */
export interface NightJob {
  readonly file: string;
  readonly jpeg: string | null;
  readonly name: string;
  readonly options: NightOptions;
  readonly curves: ReadonlyMap<string, CurveRecord>;
  readonly cache: string | null;
  /** The program's version. */
  readonly version: string;
}

export type NightAnswer =
  | { readonly record: FrameRecord; readonly curve: CurveRecord | null; readonly sketch: Sketch | null }
  | { readonly code: string; readonly message: string }
  /** A picture that this program drew: no frame of the night. */
  | { readonly own: true };

export default async function readNightFrame(job: NightJob): Promise<NightAnswer> {
  try {
    const bytes = await readBytes(job.file);
    const beside = job.jpeg === null ? null : await readBytes(job.jpeg).catch(() => null);
    return await recordOf(job, bytes, beside);
  } catch (cause) {
    return failureOf(job, cause);
  }
}

/** The frame of these bytes (`beside`: its JPEG), from the cache where it was read before. Throws from the catalogue. */
export async function recordOf(job: NightJob, bytes: Uint8Array, beside: Uint8Array | null): Promise<NightAnswer> {
  if (isMarkedPng(Buffer.from(bytes.buffer, bytes.byteOffset, Math.min(bytes.length, 2048)))) return { own: true };
  const { lights, wishes, sketch: wanted, segmenter = 'learned' } = job.options;
  const key = keyOf(job, bytes, beside);
  // A sketch is not kept.
  const known = job.cache === null || wanted === 'drawn' ? null : await storedRecord(job.cache, key);
  // The same frame may lie elsewhere, or have another name now.
  if (known !== null) {
    const reading = { ...known.record.reading, file: basename(job.file) };
    const record = withLamps({ ...known.record, file: job.name, reading }, lights, wishes);
    return { record, curve: known.curve, sketch: null };
  }
  const jpeg =
    beside === null || job.jpeg === null ? null : { bytes: beside, file: job.jpeg, mark: contentMark(beside) };
  const tools = {
    unpackRaw: unpackRawApart,
    curves: job.curves,
    ...(segmenter === 'learned' && { network: skyNetwork }),
  };
  const { record, curve, sketch } = await recordFrame(
    { bytes, file: job.file },
    jpeg,
    job.name,
    { ...job.options, lights: [] },
    tools,
  );
  if (job.cache !== null) await storeRecord(job.cache, key, { record, curve });
  return { record: withLamps(record, lights, wishes), curve, sketch };
}

/** What a frame is kept under. It does not depend on the lamps: notes may come later. */
function keyOf({ version, curves, options }: NightJob, bytes: Uint8Array, beside: Uint8Array | null): string {
  const { read, wishes, segmenter = 'learned' } = options;
  const used = [...curves.values()].map(({ key, frames }) => [key, frames]);
  const decides = JSON.stringify([version, segmenter, read, wishes, used]);
  return recordKey(beside === null ? [bytes] : [bytes, beside], decides);
}

/** Whether the reading of a frame without a second half is kept. */
export async function isKept(job: NightJob): Promise<boolean> {
  if (job.cache === null) return false;
  const bytes = await readBytes(job.file).catch(() => null);
  return bytes !== null && (await storedRecord(job.cache, keyOf(job, bytes, null))) !== null;
}

export function failureOf(job: NightJob, cause: unknown): { code: string; message: string } {
  if (cause instanceof PaintstopError) return { code: cause.code, message: cause.message };
  return { code: 'damaged', message: `${job.name} could not be read; copy it again from the card.` };
}

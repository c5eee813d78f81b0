import type { CurveRecord } from '../calibration/cameraCurve.js';
import { PaintstopError } from '../errors.js';
import { comparePair } from '../measure/comparePair.js';
import type { Light } from '../model/reading.js';
import type { Wishes } from '../model/wishes.js';
import { curveKeyOf } from '../read/metadata.js';
import { openFrame, type ReadOptions, type ReadTools } from '../read/readFrame.js';
import { readOneFrame, type FrameResult } from './readOneFrame.js';

/** A file's bytes and its path, for messages. */
export interface NamedBytes {
  readonly bytes: Uint8Array;
  readonly file: string;
}

/**
 * Raw and JPEG of one shot: the raw frame is measured; the JPEG shows what of its clipping the raw still holds, and the camera's display
 * curve. A JPEG that cannot be read is told as a warning. `mark` names the shot for the record of curves.
 */
export async function readPair(
  raw: NamedBytes,
  jpeg: NamedBytes,
  mark: string,
  options: ReadOptions,
  lights: readonly Light[],
  wishes: Wishes,
  tools: ReadTools,
): Promise<{ result: FrameResult; curve: CurveRecord | null }> {
  const result = await readOneFrame(raw.bytes, raw.file, options, lights, wishes, tools);
  try {
    const { frame } = await (await openFrame(jpeg.bytes, jpeg.file)).frame;
    const { pair, curve } = comparePair(result.frame, frame, await curveKeyOf(jpeg.bytes), mark);
    return { result: { ...result, reading: { ...result.reading, pair } }, curve };
  } catch (cause) {
    if (!(cause instanceof PaintstopError)) throw cause;
    const warnings = [
      ...result.reading.warnings,
      { code: 'pair-unreadable', message: `Its JPEG was left out: ${cause.message}` },
    ];
    return { result: { ...result, reading: { ...result.reading, warnings } }, curve: null };
  }
}

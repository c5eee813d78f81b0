import { isOfNamedCamera, type CurveRecord } from '../calibration/cameraCurve.js';
import { PaintstopError } from '../errors.js';
import { comparePair } from '../measure/comparePair.js';
import type { Settings } from '../model/frame.js';
import type { Light } from '../model/reading.js';
import type { Wishes } from '../model/wishes.js';
import { curveKeyOf } from '../read/metadata.js';
import { openFrame, type ReadOptions } from '../read/readFrame.js';
import type { Tools } from './guidance.js';
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
  tools: Tools,
): Promise<{ result: FrameResult; curve: CurveRecord | null }> {
  const result = await readOneFrame(raw.bytes, raw.file, options, lights, wishes, tools);
  try {
    const { frame } = await (await openFrame(jpeg.bytes, jpeg.file)).frame;
    if (!sameShot(result.frame.settings, frame.settings))
      return {
        result: withNote(
          result,
          'pair-mismatch',
          `${jpeg.file} beside it is of another camera or another moment; it was left out.`,
        ),
        curve: null,
      };
    const key = await curveKeyOf(jpeg.bytes);
    const { pair, curve } = comparePair(result.frame, frame, isOfNamedCamera(key) ? key : null, mark);
    return { result: { ...result, reading: { ...result.reading, pair } }, curve };
  } catch (cause) {
    if (!(cause instanceof PaintstopError)) throw cause;
    return { result: withNote(result, 'pair-unreadable', `Its JPEG was left out: ${cause.message}`), curve: null };
  }
}

/** One shot has one camera and one moment; what a file does not tell is no contradiction. */
function sameShot(raw: Settings, jpeg: Settings): boolean {
  const apart = (raw.takenAt ?? '').slice(0, 19) !== (jpeg.takenAt ?? '').slice(0, 19);
  if (raw.takenAt !== null && jpeg.takenAt !== null && apart) return false;
  return raw.camera === null || jpeg.camera === null || raw.camera === jpeg.camera;
}

function withNote(result: FrameResult, code: string, message: string): FrameResult {
  const warnings = [...result.reading.warnings, { code, message }];
  return { ...result, reading: { ...result.reading, warnings } };
}

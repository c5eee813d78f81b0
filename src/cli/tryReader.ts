import { keepCurves } from '../machine/curveStore.js';
import { contentMark, readBytes } from '../machine/files.js';
import { configFolder } from '../machine/ownStore.js';
import type { FrameFile } from '../machine/pairs.js';
import type { Light } from '../model/reading.js';
import { curveOfTries, toneTriedOf, withAdvice, type ToneTried } from '../pipeline/curveOfTries.js';
import { MOST_TRIES, triedAgain, triedOf, type Tried } from '../pipeline/foretellFrame.js';
import type { Tools } from '../pipeline/guidance.js';
import { readOneFrame, type FrameResult } from '../pipeline/readOneFrame.js';
import { readPair } from '../pipeline/readPair.js';
import { readOptionsOf, wishesOf, type ReadingOptions } from './readingOptions.js';

/** Reads the frames of one call in their order. */
export interface TryReader {
  /** The last tries, oldest first; none where they are not kept. */
  readonly tried: Tried[];
  read(frame: FrameFile, lamps: readonly Light[]): Promise<FrameResult>;
  /** The last try with other words of advice. */
  readAgain(reading: FrameResult['reading']): void;
}

/**
 * `together`: tries are kept, since several tell lamps apart, and several JPEGs of a setup their camera's display curve; once that is
 * found it is kept for the camera, and the tries are read again by it.
 */
export function tryReader(options: ReadingOptions, given: Tools, together: boolean): TryReader {
  let tools = given;
  const tried: Tried[] = [];
  const sources: { frame: FrameFile; lamps: readonly Light[] }[] = [];
  const toned: ToneTried[] = [];
  /** Of the last frame read, the last of `toned`; null where it has none there. */
  let fresh: ToneTried | null = null;

  const learnCurve = async (bytes: Uint8Array, result: FrameResult): Promise<FrameResult> => {
    const tone = await toneTriedOf(bytes, result, tried.at(-1)!.record);
    fresh = tone;
    if (tone === null) return result;
    toned.push(tone);
    toned.splice(0, toned.length - MOST_TRIES);
    const curve = curveOfTries(toned, tools.curves);
    if (curve === null) return result;
    tools = { ...tools, curves: await keepCurves(configFolder(), tools.curves ?? new Map(), [curve]) };
    if (!curve.partlyGuessed) {
      toned.length = 0;
      fresh = null;
    }
    let last = result;
    for (const [n, { frame, lamps }] of sources.entries()) {
      last = (await readFrameFile(frame, options, lamps, tools)).result;
      tried[n] = triedOf(last);
    }
    return last;
  };

  return {
    tried,
    read: async (frame, lamps) => {
      const { result, bytes } = await readFrameFile(frame, options, lamps, tools);
      if (!together) return result;
      tried.push(triedOf(result));
      sources.push({ frame, lamps });
      tried.splice(0, tried.length - MOST_TRIES);
      sources.splice(0, sources.length - MOST_TRIES);
      return learnCurve(bytes, result);
    },
    readAgain: (reading) => {
      if (tried.length > 0) tried[tried.length - 1] = triedAgain(tried.at(-1)!, reading);
      if (fresh !== null) toned[toned.length - 1] = withAdvice(fresh, reading.advice);
    },
  };
}

async function readFrameFile(
  { file, jpeg }: FrameFile,
  options: ReadingOptions,
  lights: readonly Light[],
  tools: Tools,
): Promise<{ result: FrameResult; bytes: Uint8Array }> {
  const bytes = await readBytes(file);
  const beside = jpeg === null ? null : await readBytes(jpeg).catch(() => null);
  if (jpeg === null || beside === null)
    return { result: await readOneFrame(bytes, file, readOptionsOf(options), lights, wishesOf(options), tools), bytes };
  const { result, curve } = await readPair(
    { bytes, file },
    { bytes: beside, file: jpeg },
    contentMark(beside),
    readOptionsOf(options),
    lights,
    wishesOf(options),
    tools,
  );
  if (curve !== null) await keepCurves(configFolder(), new Map(), [curve]);
  return { result, bytes };
}

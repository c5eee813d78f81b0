import type { CurveRecord } from '../calibration/cameraCurve.js';
import { starPoints } from '../measure/pointing/starPoints.js';
import { glanceAt } from '../measure/glance.js';
import { lightMapOf, sketchOf } from '../measure/lightMap.js';
import type { Frame } from '../model/frame.js';
import type { LightMap } from '../model/lightMap.js';
import type { FrameRecord } from '../model/night.js';
import type { Light } from '../model/reading.js';
import type { Grid } from '../model/regions.js';
import type { Wishes } from '../model/wishes.js';
import type { ReadOptions } from '../read/readFrame.js';
import { thumbnailOf } from '../read/thumbnail.js';
import { advisedAgain } from './answerFrame.js';
import type { Tools } from './guidance.js';
import { toneTriedOf, type ToneTried } from './curveOfTries.js';
import { readOneFrame, type FrameResult } from './readOneFrame.js';
import { readPair, type NamedBytes } from './readPair.js';

/** A frame's light for telling lamps apart and foretelling the next one; with the blocks to draw it from, where they are wanted. */
export interface Sketch {
  readonly map: LightMap;
  readonly drawn: { readonly grid: Grid; readonly mask: Uint8Array; readonly display: Frame['toLinear'] | null } | null;
  /** Of a JPEG whose camera's display curve is not known yet. */
  readonly tone: ToneTried | null;
}

/** How the frames of a night are to be read. Plain data: it crosses threads. */
export interface NightOptions {
  readonly read: ReadOptions;
  readonly lights: readonly Light[];
  readonly wishes: Wishes;
  readonly sketch?: 'light' | 'drawn';
  readonly segmenter?: 'learned' | 'classical';
}

/** The same frame with the lamps it was shot by: only the advice depends on them, so that no pixel is needed. */
export function withLamps(record: FrameRecord, lights: readonly Light[], wishes: Wishes): FrameRecord {
  return lights.length === 0 ? record : { ...record, reading: advisedAgain(record, lights, wishes) };
}

/** Reads one frame of a night (with its JPEG, where it is a pair) and keeps what the night needs of it. */
export async function recordFrame(
  frame: NamedBytes,
  jpeg: (NamedBytes & { readonly mark: string }) | null,
  name: string,
  options: NightOptions,
  tools: Tools,
): Promise<{ record: FrameRecord; curve: CurveRecord | null; sketch: Sketch | null }> {
  const { read, lights, wishes } = options;
  const { result, curve } =
    jpeg === null
      ? { result: await readOneFrame(frame.bytes, frame.file, read, lights, wishes, tools), curve: null }
      : await readPair(frame, jpeg, jpeg.mark, read, lights, wishes, tools);
  const { reading, widestAperture, grid, regions } = result;
  const thumbnail = await thumbnailOf(grid);
  const record = {
    file: name,
    reading,
    glance: glanceAt(grid, regions),
    widestAperture,
    thumbnail,
    starPoints: starsToKeep(result),
  };
  const sketch =
    options.sketch === undefined
      ? null
      : {
          map: lightMapOf(grid, regions),
          drawn:
            options.sketch === 'drawn' ? { ...sketchOf(grid, regions.mask), display: displayOf(result.frame) } : null,
          tone: await toneTriedOf(frame.bytes, result, record),
        };
  return { record, curve, sketch };
}

/** The curve that a JPEG was read by, where it is its camera's own. */
export function displayOf({ encoding, toLinear }: Frame): Frame['toLinear'] | null {
  return encoding.response === 'camera' ? toLinear : null;
}

/** Enough to find the sky by; a frame's record stays small. */
const STARS_KEPT = 120;

function starsToKeep({ grid, detection }: FrameResult): NonNullable<FrameRecord['starPoints']> {
  return starPoints(grid, detection)
    .slice(0, STARS_KEPT)
    .map(({ x, y, flux, contrast }) => [
      Number(x.toFixed(1)),
      Number(y.toFixed(1)),
      Number(flux.toPrecision(4)),
      Number(contrast.toPrecision(4)),
    ]);
}

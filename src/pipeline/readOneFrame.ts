import { advise } from '../advise/advise.js';
import { toldAbove } from '../advise/aims.js';
import { isCurveUnknown } from '../calibration/cameraCurve.js';
import { measureClips } from '../measure/clips.js';
import { measureFalloff } from '../measure/falloff.js';
import { measureHeadroom } from '../measure/headroom.js';
import { putBack, samplePaint } from '../measure/hiddenLight.js';
import { measureLandLevels } from '../measure/landLevels.js';
import { measureLevels } from '../measure/levels.js';
import { detectStars, type Detection } from '../measure/stars/detect.js';
import { starsTellCurve } from '../measure/starCurve/starsTellCurve.js';
import { measureStars } from '../measure/stars/measureStars.js';
import type { StarShape } from '../measure/stars/shape.js';
import type { Frame, Settings, Warning } from '../model/frame.js';
import type { Light, Reading } from '../model/reading.js';
import { REGION, type Grid, type Regions } from '../model/regions.js';
import type { Wishes } from '../model/wishes.js';
import { exposureValue } from '../physics/exposure.js';
import { factsOf } from './factsOf.js';
import { doubtsOfNotes } from './notesInDoubt.js';
import { guidanceFor, type Tools } from './guidance.js';
import { openFrame, type ReadOptions } from '../read/readFrame.js';
import { findBurnt } from '../segment/burnt.js';
import { settleRegions, splitGrid } from '../segment/segmentFrame.js';

/** A reading and the workings that pictures are drawn from. */
export interface FrameResult {
  readonly reading: Reading;
  readonly widestAperture: number | null;
  readonly frame: Frame;
  readonly grid: Grid;
  readonly regions: Regions;
  readonly shapes: readonly StarShape[];
  readonly detection: Detection;
}

/** The walk of a frame: read, segment, measure, advise. `file` is its path or name, for messages; the reading keeps the name. */
export async function readOneFrame(
  bytes: Uint8Array,
  file: string,
  options: ReadOptions,
  lights: readonly Light[],
  wishes: Wishes,
  tools: Tools = {},
): Promise<FrameResult> {
  const opened = await openFrame(bytes, file, options, tools);
  // Opened while the decoder works; a fault is told where the network is asked.
  if (tools.drawn === undefined) tools.network?.().catch(() => undefined);
  const grid = await opened.grid;
  // Looked for while the network looks, if the decoder is through by then.
  const burning = opened.frame.then(({ frame }) => findBurnt(frame, grid));
  burning.catch(() => undefined);
  const { guidance, warnings } = await guidanceFor(grid, async () => (await opened.frame).frame, tools);
  const split = splitGrid(grid, guidance);
  const detection = detectStars(grid, split.mask);
  const falloff = measureFalloff(grid, split.mask);
  const { frame, widestAperture } = await opened.frame;
  const regions = settleRegions(frame, grid, split, await burning);
  const { stars, shapes } = measureStars(frame, grid, regions, detection, wishes.trailPxAllowed);
  const curveHint = isCurveUnknown(frame.encoding) ? starsTellCurve(frame, grid, regions, detection, stars) : null;
  const levels = measureLevels(frame, grid, regions, detection.starBlocks);
  const paint = samplePaint(frame, grid, regions);
  const hidden = putBack(paint);
  const headroom = measureHeadroom(frame, paint, hidden, levels.painted.clipped.any);
  const landLevels = measureLandLevels(frame, grid, split, levels, hidden);
  const measured = {
    settings: frame.settings,
    encoding: frame.encoding,
    regions: levels,
    headroom,
    landLevels,
    falloff,
    stars,
    curveHint,
    warnings: frame.warnings,
  };
  const facts = factsOf(measured, widestAperture, lights, wishes);
  const skyStops = facts.skyStops;
  const reading: Reading = {
    schema: 'paintstop.frame/1',
    file: file.split(/[\\/]/).pop() ?? file,
    settings: frame.settings,
    encoding: frame.encoding,
    segmentation: { by: regions.by, confidence: round(regions.confidence) },
    regions: levels,
    clips: measureClips(frame, grid, regions),
    stars,
    falloff,
    headroom,
    landLevels,
    curveHint,
    balance: {
      stops:
        skyStops === null || levels.painted.levelStops === null ? null : round(levels.painted.levelStops - skyStops),
      targetStops: wishes.balanceTargetStops,
      toleranceStops: wishes.toleranceStops,
      skyTargetStops: wishes.skyTargetStops,
      skyShownTargetStops: round(wishes.skyTargetStops + toldAbove(facts)),
    },
    lights: facts.lights,
    advice: advise(facts),
    warnings: [
      ...frame.warnings,
      ...warnings,
      ...regions.warnings,
      ...doubtsOfNotes(lights, { settings: frame.settings, regions: levels }),
      ...doubts(grid, regions, skyStops, stars, frame.settings),
    ],
  };
  kept.last = { grid, guidance, split, detection, regions, measured, reading };
  return { reading, widestAperture, frame, grid, regions, shapes, detection };
}

/**
 * What was found in the last frame but for its pixels, never read: V8 forgets the shape of objects when the last of them is gone, and
 * with it the code compiled for them, so that every frame would begin slowly.
 */
const kept: { last?: unknown } = {};

/** Regions found with less certainty than this may be wrong; scenes and photographs with sound regions lie above it. */
const SURE_ENOUGH = { learned: 0.85, classical: 0.73, hand: 0 };

/** A sky brighter than this without stars is no night sky (common practice, no source). */
const DAYLIGHT_STOPS = -2.2;

function doubts(
  grid: Grid,
  regions: Regions,
  skyStops: number | null,
  stars: Reading['stars'],
  settings: Settings,
): Warning[] {
  const found: Warning[] = [];
  const unsure = regions.confidence > 0 && regions.confidence < SURE_ENOUGH[regions.by];
  if (unsure || (regions.by !== 'hand' && skyUnderLand(grid, regions.mask) > MOST_SKY_UNDER_LAND))
    found.push({
      code: 'uncertain-regions',
      message: 'Sky and ground are hard to tell apart in this frame: look at --picture before you trust the numbers.',
    });
  if (skyStops !== null && skyStops > DAYLIGHT_STOPS && stars.cause === 'too-few')
    found.push({
      code: 'not-night',
      message:
        'This does not look like a night frame: the sky is bright and shows no stars. The advice is for night frames.',
    });
  else if (isForBrighter(settings))
    found.push({
      code: 'not-night',
      message:
        'This does not look like a night frame: its ISO, shutter and aperture are those of a brighter scene. The advice is for night frames.',
    });
  return found;
}

/** Lit streets want about 5, a landscape under the full Moon -2 (common practice, no source). */
const BRIGHTEST_NIGHT_EV = 7;

/** Where a setting is not told, it says nothing. */
function isForBrighter({ iso, shutterSeconds, aperture }: Settings): boolean {
  if (iso === null || shutterSeconds === null || aperture === null) return false;
  return exposureValue({ iso, shutterSeconds, aperture }) > BRIGHTEST_NIGHT_EV;
}

/** In three hundredths of the width, sky that reaches the frame's lower edge under land is more likely water, snow or lit sand. */
const MOST_SKY_UNDER_LAND = 0.03;

/** Part of the width where the lowest block is sky and a thirtieth of the height above it is land. */
function skyUnderLand({ width, height }: Grid, mask: Uint8Array): number {
  let columns = 0;
  for (let x = 0; x < width; x++) {
    if (mask[(height - 1) * width + x] !== REGION.sky) continue;
    let land = 0;
    for (let y = 0; y < height; y++) if (mask[y * width + x] !== REGION.sky) land++;
    if (land > height / 30) columns++;
  }
  return columns / width;
}

function round(value: number): number {
  return Number(value.toFixed(2));
}

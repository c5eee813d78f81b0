import { printable } from '../../errors.js';
import { isOwnPage, refuseForeign, writeOwn } from '../../machine/files.js';
import { gatherFrames } from '../../machine/gather.js';
import { measureDistribution } from '../../measure/distribution.js';
import { measureGroundProfile } from '../../measure/groundProfile.js';
import { foretellFrame, MOST_TRIES, triedOf, type Tried } from '../../pipeline/foretellFrame.js';
import type { FrameResult } from '../../pipeline/readOneFrame.js';
import { layersForAdvice } from '../../pipeline/lampsApart.js';
import { teachFrame } from '../../pipeline/teachFrame.js';
import { lessonsAsJson } from '../../present/json.js';
import { findingPicture, starPicture } from '../../present/picture/findingPicture.js';
import { framePicture } from '../../present/picture/framePicture.js';
import { lampsInWords } from '../../present/previewWords.js';
import { lessonReport } from '../../present/why/lessonReport.js';
import { lessonsAsText } from '../../present/why/whyText.js';
import { frameReader } from '../frameReader.js';
import type { DrawnSkyOptions } from '../drawnSky.js';
import { wishesOf, type ReadingOptions } from '../readingOptions.js';
import type { World } from '../world.js';

export interface WhyOptions extends ReadingOptions, DrawnSkyOptions {
  readonly json?: boolean;
  readonly html?: string;
  readonly with?: string;
  readonly red?: boolean;
}

export async function runWhy(file: string, options: WhyOptions, world: World): Promise<void> {
  if (options.html !== undefined) await refuseForeign(options.html, isOwnPage);
  const read = await frameReader(options, world);
  world.progress('reading ...');
  const { result, lamps } = await read(file).finally(() => {
    world.progress(null);
  });
  const apart = options.with === undefined ? null : await fromOthers(options.with, result, read, world);
  const lessons = teachFrame(result, lamps, wishesOf(options), apart);
  world.out(
    options.json === true
      ? `${lessonsAsJson(lessons)}\n`
      : lessonsAsText(lessons, world.columns, world.look(options.red === true)),
  );
  if (options.html === undefined) return;
  const { grid, regions, reading, frame, shapes } = result;
  const page = lessonReport(
    lessons,
    reading,
    {
      whole: framePicture(reading, grid, regions, shapes),
      findings: lessons.findings.map((finding, n) => findingPicture(finding, n + 1, grid, regions.mask)),
      stars: starPicture(frame, shapes),
    },
    measureDistribution(grid, regions.mask),
    reading.falloff === null ? null : measureGroundProfile(grid, regions.mask, reading.falloff.hotSpot),
  );
  await writeOwn(options.html, Buffer.from(page), isOwnPage);
  world.note(`wrote ${printable(options.html)}`);
}

/** What the last frames of a folder tell of the lamps of this frame. */
async function fromOthers(
  folder: string,
  own: FrameResult,
  read: (path: string) => Promise<{ result: FrameResult }>,
  world: World,
): Promise<{ says: string; layers: ReturnType<typeof layersForAdvice> }> {
  const tried: Tried[] = [];
  const frames = (await gatherFrames(folder)).frames.slice(-2 * MOST_TRIES);
  for (const [n, { file }] of frames.entries()) {
    world.progress(`reading ${String(n + 1)} of ${String(frames.length)} ...`);
    const other = await read(file).catch(() => null);
    if (other !== null && other.result.reading.file !== own.reading.file) tried.push(triedOf(other.result));
  }
  world.progress(null);
  tried.push(triedOf(own));
  const foretold = foretellFrame(tried);
  const words = foretold === null ? [] : lampsInWords(foretold);
  const separation = foretold?.separation ?? null;
  return {
    says: words.length === 0 ? 'The frames of that folder do not tell the lamps of this one apart.' : words.join(' '),
    layers: separation === null ? null : layersForAdvice(separation, tried.at(-1)!.map),
  };
}

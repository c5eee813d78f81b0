import { basename, dirname, join, relative, sep } from 'node:path';
import { PaintstopError, printable } from '../../errors.js';
import { keepCurves } from '../../machine/curveStore.js';
import { keepLamps } from '../../machine/kitStore.js';
import { configFolder } from '../../machine/ownStore.js';
import { lampsLearnedIn } from '../../pipeline/learnLamps.js';
import { isOwnPage, refuseForeign, refuseReadOnly, sweepParts, writeOwn } from '../../machine/files.js';
import { gatherFrames } from '../../machine/gather.js';
import { readOnAllCores, type NightAnswer, type NightJob } from '../../machine/nightPool.js';
import { stemOf, type FrameFile } from '../../machine/pairs.js';
import { cacheFolder } from '../../machine/recordCache.js';
import { sidecarOf, writeSidecar, type Sidecar } from '../../machine/sidecars.js';
import type { Failure, FrameRecord, Night } from '../../model/night.js';
import { assembleNight } from '../../pipeline/assembleNight.js';
import { MOST_TRIES, type Tried } from '../../pipeline/foretellFrame.js';
import type { Sketch } from '../../pipeline/recordFrame.js';
import type { CurveRecord } from '../../pipeline/cameraCurve.js';
import { nightAsJson } from '../../present/json.js';
import { nightAsCsv } from '../../present/night/csv.js';
import { nightReport } from '../../present/night/nightReport.js';
import { nightAsText } from '../../present/night/nightText.js';
import { sidecarFor } from '../../present/night/xmp.js';
import { curvesOfSeries } from '../curvesOfSeries.js';
import { lampsOfFrames } from '../lampsOfFrames.js';
import { placeOptionsOf, type PlaceOptions } from '../placeOptions.js';
import { readOptionsOf, wishesOf, type ReadingOptions } from '../readingOptions.js';
import { version } from '../version.js';
import type { World } from '../world.js';
import { writePreview } from '../writePreview.js';

export interface NightOptions extends ReadingOptions, PlaceOptions {
  readonly json?: boolean;
  readonly csv?: string;
  readonly report?: string;
  readonly preview?: string;
  readonly xmp?: boolean;
  readonly dryRun?: boolean;
  readonly threads?: number;
  readonly cache: boolean;
}

export async function runNight(folder: string, options: NightOptions, world: World): Promise<void> {
  const where = placeOptionsOf(options);
  const outputs = [options.csv, options.report, options.preview].filter((path) => path !== undefined);
  if (new Set(outputs).size < outputs.length)
    throw new PaintstopError('wrong-use', 'Two outputs name one file', 'give each a name of its own');
  const { frames, closed } = await gatherFrames(folder);
  for (const path of closed)
    world.note(`paintstop: ${printable(path)} may not be read and was left out; give yourself permission to read it.`);
  if (frames.length === 0)
    throw new PaintstopError('not-found', `${folder} holds no frames`, 'give the folder of a night');
  if (options.csv !== undefined) await refuseForeign(options.csv, isOwnTable);
  if (options.report !== undefined) await refuseForeign(options.report, isOwnPage);
  if (options.preview !== undefined) await refuseForeign(options.preview);
  const read = await readAll(folder, frames, options, world);
  world.progress(null);
  if (read === null) {
    world.note('paintstop: stopped; what was read is kept, and the next run goes on from there.');
    world.setExit(1);
    return;
  }
  const night = assembleNight(basename(join(folder, '.')) || folder, read.records, read.failed, where);
  await keepLamps(configFolder(), lampsLearnedIn(night));
  world.out(options.json === true ? `${nightAsJson(night)}\n` : nightAsText(night, world.columns));
  const { csv, report, preview } = options;
  // One output that cannot be written stops no other.
  if (csv !== undefined) await orSayWhy(world, () => write(csv, nightAsCsv(night), isOwnTable, world));
  if (report !== undefined) {
    const thumbnails = new Map(read.records.map(({ file, thumbnail }) => [file, thumbnail]));
    await orSayWhy(world, () => write(report, nightReport(night, thumbnails), isOwnPage, world));
  }
  if (preview !== undefined) await orSayWhy(world, () => previewOf(night, read, preview, options, world));
  if (options.xmp === true) await writeSidecars(folder, night, options.dryRun === true, world);
  if (night.frames.length === 0) world.setExit(1);
}

interface AllRead {
  readonly records: readonly FrameRecord[];
  readonly failed: readonly Failure[];
  /** How each frame was read, by its name. */
  readonly jobs: ReadonlyMap<string, NightJob>;
}

/** Pairs first: the curves that they show are used for the JPEGs without raw. Null when it was stopped. */
async function readAll(
  folder: string,
  frames: readonly FrameFile[],
  options: NightOptions,
  world: World,
): Promise<AllRead | null> {
  const records: FrameRecord[] = [];
  const failed: Failure[] = [];
  const fresh = new Map<string, CurveRecord>();
  const progress = progressOf(world);
  const pairs = frames.filter(({ jpeg }) => jpeg !== null);
  const alone = frames.filter(({ jpeg }) => jpeg === null);
  const toRead = (): number => pairs.length + alone.length;
  let done = 0;
  const asked = { stop: false };
  const stop = (): void => {
    asked.stop = true;
  };
  process.once('SIGINT', stop);
  const jobOfFrame = new Map<string, NightJob>();
  const told = (answer: NightAnswer, job: NightJob): void => {
    const { name, jpeg } = job;
    done++;
    if ('record' in answer) {
      records.push(answer.record);
      jobOfFrame.set(name, job);
      if (answer.curve !== null) fresh.set(name, answer.curve);
    } else if (!('own' in answer)) {
      failed.push({ file: name, code: answer.code, message: answer.message });
      // Its JPEG is read by itself then.
      if (jpeg !== null) alone.push({ file: jpeg, jpeg: null });
      world.progress(null);
      world.note(`paintstop: ${answer.message}`);
    }
    progress(name, done, toRead());
  };
  const lampsOf = lampsOfFrames(options, world);
  const jobOf = async ({ file, jpeg }: FrameFile, curves: ReadonlyMap<string, CurveRecord>): Promise<NightJob> => ({
    file,
    jpeg,
    name: relative(folder, file).split(sep).join('/'),
    options: {
      read: readOptionsOf(options),
      lights: await lampsOf(file),
      wishes: wishesOf(options),
      ...(options.segmenter !== undefined && { segmenter: options.segmenter }),
    },
    curves,
    cache: options.cache ? cacheFolder() : null,
    version: version(),
  });
  try {
    const jobs = (files: readonly FrameFile[], curves: ReadonlyMap<string, CurveRecord>): Promise<NightJob[]> =>
      Promise.all(files.map((file) => jobOf(file, curves)));
    await readOnAllCores(await jobs(pairs, new Map()), options.threads ?? null, told, () => asked.stop);
    const inOrder = [...fresh].sort(([a], [b]) => (a < b ? -1 : 1)).map(([, curve]) => curve);
    const shown = await keepCurves(configFolder(), new Map(), asked.stop ? [] : inOrder);
    const found = asked.stop ? [] : await curvesOfSeries(alone, shown, jobOf, options, world, () => asked.stop);
    const curves = found.length === 0 ? shown : await keepCurves(configFolder(), shown, found);
    await readOnAllCores(await jobs(alone, curves), options.threads ?? null, told, () => asked.stop);
  } finally {
    process.removeListener('SIGINT', stop);
  }
  return asked.stop && done < toRead() ? null : { records, failed, jobs: jobOfFrame };
}

/** The last frames of the night's last setup are read once more, for their light. */
async function previewOf(
  night: Night,
  { jobs }: AllRead,
  path: string,
  options: NightOptions,
  world: World,
): Promise<void> {
  const files = night.frames
    .filter(({ setup }) => setup === night.frames.at(-1)?.setup)
    .slice(-MOST_TRIES)
    .map(({ file }) => file);
  const again = files.flatMap((file): NightJob[] => {
    const job = jobs.get(file);
    return job === undefined ? [] : [{ ...job, options: { ...job.options, sketch: 'drawn' as const } }];
  });
  const seen = new Map<string, { tried: Tried; sketch: Sketch }>();
  await readOnAllCores(
    again,
    options.threads ?? null,
    (answer, { name }) => {
      if ('record' in answer && answer.sketch !== null)
        seen.set(name, { tried: { record: answer.record, map: answer.sketch.map }, sketch: answer.sketch });
    },
    () => false,
  );
  const inOrder = files.flatMap((file) => seen.get(file) ?? []);
  const last = inOrder.at(-1);
  if (last?.sketch.drawn == null) return;
  await writePreview(
    path,
    last.sketch.drawn,
    inOrder.map(({ tried }) => tried),
    world,
  );
}

/** A bar, how many of how many, and the time that is left. */
function progressOf(world: World): (name: string, done: number, total: number) => void {
  const started = Date.now();
  return (name, done, total) => {
    const filled = Math.round((done / total) * 20);
    const left = ((Date.now() - started) / done) * (total - done);
    const minutes = `${String(Math.floor(left / 60_000))}:${String(Math.floor(left / 1000) % 60).padStart(2, '0')}`;
    world.progress(
      `[${'#'.repeat(filled)}${'.'.repeat(20 - filled)}] ${String(done)} of ${String(total)}, ${minutes} left  ${printable(name)}`,
    );
  };
}

/** A table of a night that this program wrote. */
function isOwnTable(head: Buffer): boolean {
  return head.toString('utf8').startsWith('file,setup,');
}

async function write(path: string, text: string, isOurs: (head: Buffer) => boolean, world: World): Promise<void> {
  await writeOwn(path, Buffer.from(text, 'utf8'), isOurs);
  world.note(`wrote ${printable(path)}`);
}

/** All texts are made before any is written; one that cannot be written stops no other. */
async function writeSidecars(folder: string, night: Night, dryRun: boolean, world: World): Promise<void> {
  const planned: { sidecar: Sidecar; text: string; rated: string }[] = [];
  const shot = (file: string): string => join(dirname(file), stemOf(file));
  const sharing = new Map<string, number>();
  for (const { file } of night.frames) sharing.set(shot(file), (sharing.get(shot(file)) ?? 0) + 1);
  for (const frame of night.frames)
    await orSayWhy(world, async () => {
      const sidecar = await sidecarOf(join(folder, frame.file), sharing.get(shot(frame.file))! > 1);
      const made = sidecarFor(frame, sidecar.text);
      if (made === null)
        throw new PaintstopError(
          'cannot-write',
          `${sidecar.path} is no XMP that can be understood and was left alone`,
          'move it away',
        );
      const { text, othersRating } = made;
      if (text !== sidecar.text)
        planned.push({ sidecar, text, rated: ratingInWords(othersRating, frame.grade.rating) });
    });
  if (!dryRun) await sweepParts(planned.map(({ sidecar }) => sidecar.path));
  for (const { sidecar, text, rated } of planned)
    await orSayWhy(world, async () => {
      if (dryRun) await refuseReadOnly(sidecar.path);
      else await writeSidecar(sidecar, text);
      const merged = sidecar.text === null ? '' : ' (merged)';
      world.note(`${dryRun ? 'would write' : 'wrote'} ${printable(sidecar.path)}${merged}: ${rated}`);
    });
}

/** `before`: a rating that was there and is not ours. */
function ratingInWords(before: number | null, rating: number): string {
  if (before !== null && before < 0) return 'rejected by you, and left so';
  return `rating ${String(rating)}${before === null || before === rating ? '' : `, was ${String(before)}`}`;
}

async function orSayWhy(world: World, work: () => Promise<void>): Promise<void> {
  try {
    await work();
  } catch (cause) {
    if (!(cause instanceof PaintstopError)) throw cause;
    world.fail(cause);
  }
}

import { basename, dirname, relative, resolve, sep } from 'node:path';
import { realpath, stat } from 'node:fs/promises';
import { PaintstopError, printable } from '../../errors.js';
import { lampsOfFrame } from '../../lamps/lightsFile.js';
import { Arrivals, type Outcome } from '../../machine/arrivals.js';
import { refuseForeign } from '../../machine/files.js';
import { keepCurves, knownCurves } from '../../machine/curveStore.js';
import { keepLamps } from '../../machine/kitStore.js';
import { configFolder } from '../../machine/ownStore.js';
import { curveOfTries, withAdvice, type ToneTried } from '../../pipeline/curveOfTries.js';
import { lampsLearned } from '../../pipeline/learnLamps.js';
import { openJournal, stateFolder, type Journal } from '../../machine/journal.js';
import type { FrameFile } from '../../machine/pairs.js';
import type { FrameRecord } from '../../model/night.js';
import { cacheFolder } from '../../machine/recordCache.js';
import { watchFolder } from '../../machine/watchFolder.js';
import { startWatchReader } from '../../machine/watchReader.js';
import type { Light } from '../../model/reading.js';
import { MOST_TRIES, type Tried } from '../../pipeline/foretellFrame.js';
import type { Whereabouts } from '../../pipeline/frameTime.js';
import type { CurveRecord } from '../../pipeline/cameraCurve.js';
import { arrivalAsJson } from '../../present/json.js';
import { lampsTold, lightsFileIn, readLightsFile } from '../lampsOfFrames.js';
import { readOptionsOf, wishesOf, type ReadingOptions } from '../readingOptions.js';
import { version } from '../version.js';
import { drawPreview } from '../writePreview.js';
import { placeOptionsOf, type PlaceOptions } from '../placeOptions.js';
import { Outlooks } from './outlooks.js';
import { lineFace } from './lineFace.js';
import { screenFace } from './screenFace.js';
import { Vigil } from './vigil.js';
import { isFrameRecord } from '../../machine/recordCache.js';
import { isWatchLine, type WatchLine } from './watchLine.js';
import type { World } from '../world.js';

export interface WatchOptions extends ReadingOptions, PlaceOptions {
  readonly json?: boolean;
  readonly once?: boolean;
  readonly bell?: boolean;
  readonly red: boolean;
  readonly poll?: boolean;
  readonly fresh?: boolean;
  readonly preview?: string;
}

export async function runWatch(folder: string, options: WatchOptions, world: World): Promise<void> {
  const where = placeOptionsOf(options);
  const facts = await stat(folder).catch(() => null);
  if (facts?.isDirectory() !== true)
    throw new PaintstopError('not-found', `${folder} is no folder`, 'give the folder that frames arrive in');
  // A link is followed once, here: what lies below it is watched, not the link.
  const real = await realpath(folder);
  if (options.preview !== undefined) await refusePreview(options.preview, real);
  const journal = await openEvening(real, options, world);
  const vigil = new Vigil(
    await startingLamps(real, options, world),
    wishesOf(options),
    journal?.lines ?? [],
    async (line) => journal?.append(line),
    () => new Date(),
  );
  const last = await journal?.lastKept();
  if (isFrameRecord(last)) vigil.remember(last);
  await watchUntilEnd(real, options, where, vigil, world, async (record) => journal?.keepLast(record)).finally(() =>
    journal?.close(),
  );
  if (journal !== null && vigil.marks.length > 0)
    world.note(
      `paintstop: ${vigil.marks.length === 1 ? 'the frame' : `the ${String(vigil.marks.length)} frames`} of this evening and its notes are kept; paintstop lights ${printable(folder)} --add-notes writes the notes beside the frames.`,
    );
}

/** Said before the wait begins. Nothing is written into the folder that frames arrive in. */
async function refusePreview(preview: string, folder: string): Promise<void> {
  await refuseForeign(preview);
  const above = await realpath(dirname(resolve(preview))).catch(() => resolve(dirname(preview)));
  if (above === folder || above.startsWith(`${folder}${sep}`))
    throw new PaintstopError(
      'wrong-use',
      `${printable(preview)} lies in the folder that frames arrive in`,
      'give a name outside of it',
    );
}

async function openEvening(folder: string, options: WatchOptions, world: World): Promise<Journal<WatchLine> | null> {
  try {
    return await openJournal(stateFolder(), folder, new Date(), options.fresh === true, isWatchLine);
  } catch {
    world.note('paintstop: notes cannot be kept, because their folder cannot be written; they are lost at the end.');
    return null;
  }
}

async function startingLamps(folder: string, options: WatchOptions, world: World): Promise<readonly Light[]> {
  const told = lampsTold(options, world);
  if (told.length > 0) return told;
  const file = options.lights === undefined ? await lightsFileIn(folder) : await readLightsFile(options.lights);
  // With all that was changed in the frames so far.
  return file === null ? [] : lampsOfFrame(file, '\u{10ffff}');
}

async function watchUntilEnd(
  folder: string,
  options: WatchOptions,
  where: Whereabouts,
  vigil: Vigil,
  world: World,
  keepLast: (record: FrameRecord) => Promise<void>,
): Promise<void> {
  let end = (): void => undefined;
  const ended = new Promise<void>((resolve) => (end = resolve));
  const needs = { folder, options, vigil, world, end };
  const onScreen = options.json !== true && process.stdout.isTTY && process.stdin.isTTY;
  const face = onScreen ? screenFace(needs) : lineFace(needs);
  const reader = startWatchReader();
  let curves: ReadonlyMap<string, CurveRecord> = await knownCurves(configFolder());

  const tried: Tried[] = [];
  const toned: ToneTried[] = [];
  const outlooks = new Outlooks(where);

  const read = async (frame: FrameFile, patient: boolean): Promise<Outcome> => {
    try {
      return await answer(frame, patient);
    } catch (cause) {
      face.trouble(
        cause instanceof PaintstopError
          ? cause.message
          : `${basename(frame.file)} could not be answered; read it with paintstop frame.`,
      );
      return 'done';
    }
  };

  const answer = async (frame: FrameFile, patient: boolean): Promise<Outcome> => {
    const name = relative(folder, frame.file).split(sep).join('/');
    face.busy(basename(frame.file), arrivals.waiting - 1);
    const arrivedAt = new Date().toISOString();
    const readNow = (): ReturnType<typeof reader.read> =>
      reader.read({
        ...frame,
        name,
        options: {
          read: readOptionsOf(options),
          ...(options.segmenter !== undefined && { segmenter: options.segmenter }),
          lights: [],
          wishes: wishesOf(options),
          sketch: options.preview !== undefined ? 'drawn' : 'light',
        },
        curves,
        cache: cacheFolder(),
        version: version(),
        marks: vigil.marks,
        patient,
      });
    let seen = await readNow();
    face.busy(null, Math.max(0, arrivals.waiting - 1));
    if (seen === null || 'own' in seen || 'again' in seen) return 'done';
    if ('partOf' in seen) return 'part';
    if ('code' in seen) {
      if (seen.code === 'not-found') return 'gone';
      face.trouble(seen.message);
      if (frame.jpeg !== null) return 'raw-failed';
      if (options.once === true) {
        world.setExit(1);
        end();
      }
      return 'done';
    }
    if (seen.curve !== null) curves = await keepCurves(configFolder(), curves, [seen.curve]);
    const tone = seen.sketch?.tone ?? null;
    if (tone !== null) {
      const { lamps, mayDiffer } = vigil.next;
      toned.push({ ...tone, record: withLights(seen.record, lamps), lampsMayDiffer: mayDiffer });
      toned.splice(0, toned.length - MOST_TRIES);
      const curve = curveOfTries(toned, curves);
      if (curve !== null) {
        curves = await keepCurves(configFolder(), curves, [curve]);
        // The frame that showed the curve is the first to be read by it.
        const anew = await readNow();
        if (anew !== null && 'record' in anew) seen = anew;
      }
    }
    const { reading, predicted, sincePrevious, newSetup } = await vigil.answer(
      seen.record,
      seen.mark,
      seen.sketch?.map ?? null,
    );
    await keepLamps(configFolder(), lampsLearned(reading));
    if (tone !== null) toned[toned.length - 1] = withAdvice(toned.at(-1)!, reading.advice);
    await keepLast(seen.record);
    if (options.preview !== undefined && seen.sketch?.drawn != null) {
      tried.push({ record: { ...seen.record, reading }, map: seen.sketch.map });
      tried.splice(0, tried.length - MOST_TRIES);
      await drawPreview(options.preview, seen.sketch.drawn, tried).catch((cause: unknown) => {
        face.trouble(cause instanceof PaintstopError ? cause.message : 'the preview could not be drawn');
      });
    }
    face.answered(() => arrivalAsJson(reading, arrivedAt, predicted, sincePrevious));
    if (options.json !== true) face.outlook(outlooks.of(seen.record, newSetup));
    if (options.once === true) end();
    return 'done';
  };

  const arrivals = new Arrivals({
    read,
    stuck: (path) => {
      face.trouble(`${basename(path)} is not whole and does not grow; copy it again.`);
    },
    late: (path) => {
      face.trouble(`${basename(path)} came after its frame was answered.`);
    },
    now: () => Date.now(),
  });
  let isFirstLook = true;
  const watcher = await watchFolder(folder, options.poll === true, {
    seen: (path, facts, found) => {
      if (found && isFirstLook) arrivals.rememberOld(path, facts);
      else arrivals.seen(path, facts, found);
      face.waiting(arrivals.waiting);
    },
    gone: (path) => {
      arrivals.gone(path);
    },
    lookedThrough: () => {
      if (isFirstLook) face.ready();
      isFirstLook = false;
    },
    present: (isThere) => {
      face.present(isThere);
    },
  });
  const onSignal = (): void => {
    end();
  };
  const signals = ['SIGINT', 'SIGTERM', 'SIGHUP'] as const;
  signals.forEach((signal) => process.on(signal, onSignal));
  try {
    await ended;
  } finally {
    signals.forEach((signal) => process.removeListener(signal, onSignal));
    face.close();
    arrivals.close();
    await watcher.close();
    await reader.close();
  }
}

/** Without lamps the one that is assumed stays. */
function withLights(record: FrameRecord, lamps: readonly Light[]): FrameRecord {
  return lamps.length === 0 ? record : { ...record, reading: { ...record.reading, lights: lamps } };
}

import type { CurveRecord } from '../calibration/cameraCurve.js';
import type { FrameFile } from '../machine/pairs.js';
import { readHead } from '../machine/files.js';
import { readOnAllCores } from '../machine/nightPool.js';
import { isKept, type NightJob } from '../machine/nightWorker.js';
import { curveOfTries, type ToneTried } from '../pipeline/curveOfTries.js';
import { exposureValue } from '../physics/exposure.js';
import { curveKeyOf, readMetadata } from '../read/metadata.js';
import { seriesForCurves, type Exposed } from '../sequence/bracketed.js';
import type { World } from './world.js';

/** Exif lies within the first so many bytes of a JPEG. */
const HEAD_BYTES = 262_144;

/**
 * Display curves of cameras that no pair has shown, from a few series of a night's lone JPEGs that differ in exposure. They are read before
 * the rest, so that every frame is read once by the curve that counts. Series that are all kept already have shown nothing before.
 */
export async function curvesOfSeries(
  frames: readonly FrameFile[],
  known: ReadonlyMap<string, CurveRecord>,
  jobOf: (frame: FrameFile, curves: ReadonlyMap<string, CurveRecord>) => Promise<NightJob>,
  options: { readonly linear?: boolean; readonly threads?: number },
  world: World,
  stop: () => boolean,
): Promise<CurveRecord[]> {
  if (options.linear === true) return [];
  const told = await Promise.all(frames.map(({ file }) => exposedOf(file)));
  const series = seriesForCurves(told.filter((own) => own !== null && !known.has(own.key)) as Exposed[]);
  if (series.length === 0) return [];
  const jobs = await Promise.all(series.flat().map(({ file }) => jobOf({ file, jpeg: null }, known)));
  if ((await Promise.all(jobs.map(isKept))).every((kept) => kept)) return [];
  world.progress(`looking for the camera's curve in ${String(jobs.length)} frames`);
  const tones = new Map<string, ToneTried>();
  await readOnAllCores(
    // Nothing of it is kept: were it stopped here, the next run must look again.
    jobs.map((job) => ({ ...job, cache: null, options: { ...job.options, sketch: 'light' as const } })),
    options.threads ?? null,
    (answer, { file }) => {
      if ('record' in answer && answer.sketch?.tone != null)
        tones.set(file, { ...answer.sketch.tone, record: answer.record });
    },
    stop,
  );
  const found = new Map<string, CurveRecord>();
  for (const row of series) {
    if (stop() || found.has(row[0]!.key)) continue;
    const curve = curveOfTries(row.flatMap(({ file }) => tones.get(file) ?? []));
    if (curve !== null) found.set(curve.key, curve);
  }
  return [...found.values()];
}

/** Null for what is no JPEG, or does not tell how it was exposed. */
async function exposedOf(file: string): Promise<Exposed | null> {
  const head = await readHead(file, HEAD_BYTES).catch(() => null);
  if (head === null || head[0] !== 0xff || head[1] !== 0xd8) return null;
  const key = await curveKeyOf(head);
  const { iso, shutterSeconds, aperture, takenAt, focalMm } = (await readMetadata(head, 0, 0)).settings;
  if (iso === null || shutterSeconds === null || aperture === null || takenAt === null) return null;
  return { file, key, takenAt, focalMm, exposureStops: -exposureValue({ iso, shutterSeconds, aperture }) };
}

import { basename, extname, join } from 'node:path';
import { InvalidArgumentError, type Command } from 'commander';
import { PaintstopError, printable } from '../../errors.js';
import { configFolder, keepCurve, knownCurves } from '../../machine/curveStore.js';
import { contentMark, readBytes, sameFile, writePng } from '../../machine/files.js';
import { pairUp, type FrameFile } from '../../machine/pairs.js';
import { unpackRawApart } from '../../machine/rawDecoder.js';
import type { Light } from '../../model/reading.js';
import { DEFAULT_WISHES, type Wishes } from '../../model/wishes.js';
import { readOneFrame, type FrameResult } from '../../pipeline/readOneFrame.js';
import { readPair } from '../../pipeline/readPair.js';
import { framePicture } from '../../present/picture/framePicture.js';
import { readingAsJson } from '../../present/json.js';
import { regionsPng } from '../../present/regionsPng.js';
import { readingAsText } from '../../present/terminal.js';
import type { ReadOptions, ReadTools } from '../../read/readFrame.js';
import { distinctLights, parseHeld, parseStand } from '../lampOptions.js';
import type { World } from '../world.js';

interface FrameOptions {
  readonly json?: boolean;
  readonly masks?: string;
  readonly picture?: string;
  readonly red?: boolean;
  readonly linear?: boolean;
  readonly iso?: number;
  readonly shutter?: number;
  readonly aperture?: number;
  readonly focal?: number;
  readonly pixelPitch?: number;
  readonly held: readonly Light[];
  readonly stand: readonly Light[];
  readonly targetSky?: number;
  readonly targetBalance?: number;
  readonly maxIso?: number;
  readonly minAperture?: number;
  readonly maxShutter?: number;
  readonly trailPx?: number;
}

export function addFrameCommand(program: Command, world: World): void {
  const collect =
    (parse: (text: string) => Light) =>
    (text: string, before: readonly Light[]): readonly Light[] => [...before, parse(text)];
  program
    .command('frame')
    .description('read frames and give the next settings')
    .argument('<files...>', 'JPEG, TIFF, PNG or camera raw frames')
    .option('--json', 'one JSON document a frame, a line each')
    .option('--masks <folder>', 'also write NAME.regions.png: 0 sky, 85 unlit, 170 painted, 255 source')
    .option('--picture <file>', 'also draw regions, clipped places and star shapes (PNG; one frame only)')
    .option('--red', 'dim red only, for dark-adapted eyes')
    .option(
      '--held <light>',
      'a light held for a counted time, like torch:3s@6m*0.5 (repeatable)',
      collect(parseHeld),
      [],
    )
    .option('--stand <light>', 'a lamp that burns through, like back@12m*0.5 (repeatable)', collect(parseStand), [])
    .option('--linear', "the file's values are linear light")
    .option('--iso <n>', 'ISO, where the file does not tell', between(1, 1e7))
    .option('--shutter <seconds>', 'shutter time', between(1e-5, 86400))
    .option('--aperture <n>', 'f-number', between(0.3, 200))
    .option('--focal <mm>', 'true focal length', between(0.5, 5000))
    .option('--pixel-pitch <um>', 'distance between pixels on the sensor, micrometres', between(0.1, 1000))
    .option('--target-sky <stops>', 'wished level of the sky, stops from clipping (-4)', between(-12, -0.5))
    .option('--target-balance <stops>', 'wished level of the paint over the sky, stops (1.5)', between(-6, 8))
    .option('--max-iso <n>', 'highest ISO to advise (6400)', between(50, 1e7))
    .option('--min-aperture <n>', 'widest opening of the lens, as f-number', between(0.5, 64))
    .option('--max-shutter <seconds>', 'longest shutter to advise (30)', between(1, 3600))
    .option('--trail-px <n>', 'star trail allowed, pixels, instead of the NPF rule', between(0.1, 10000))
    .action(async (files: string[], options: FrameOptions) => {
      await runFrame(files, options, world);
    });
}

function between(least: number, most: number): (text: string) => number {
  return (text) => {
    const value = Number(text);
    if (text.trim() === '' || !Number.isFinite(value) || value < least || value > most)
      throw new InvalidArgumentError(`It must be a number from ${String(least)} to ${String(most)}.`);
    return value;
  };
}

async function runFrame(given: readonly string[], options: FrameOptions, world: World): Promise<void> {
  const frames = await pairUp(given);
  const files = frames.map(({ file }) => file);
  const lights = distinctLights([...options.held, ...options.stand]);
  if (options.picture !== undefined && files.length > 1)
    throw new PaintstopError('wrong-use', '--picture draws one frame only', 'give one frame, or leave --picture out');
  const outputs = plannedOutputs(files, options);
  await refuseInputs(given, [...outputs.values(), ...(options.picture === undefined ? [] : [options.picture])]);
  let read = 0;
  const tools: ReadTools = { unpackRaw: unpackRawApart, curves: await knownCurves(configFolder()) };
  for (const [n, frame] of frames.entries()) {
    const { file } = frame;
    if (files.length > 1)
      world.progress(`reading ${String(n + 1)} of ${String(files.length)}: ${printable(basename(file))}`);
    try {
      const result = await readFrameFile(frame, options, lights, tools);
      read++;
      world.progress(null);
      world.out(
        options.json === true
          ? `${readingAsJson(result.reading)}\n`
          : `${n > 0 ? '\n' : ''}${readingAsText(result.reading, world.columns, world.look(options.red === true))}`,
      );
      await writeExtras(outputs.get(file), options, result, world);
    } catch (cause) {
      world.progress(null);
      if (!(cause instanceof PaintstopError)) throw cause;
      world.fail(cause);
    }
  }
  if (read === 0) world.setExit(1);
}

async function readFrameFile(
  { file, jpeg }: FrameFile,
  options: FrameOptions,
  lights: readonly Light[],
  tools: ReadTools,
): Promise<FrameResult> {
  const bytes = await readBytes(file);
  const beside = jpeg === null ? null : await readBytes(jpeg).catch(() => null);
  if (jpeg === null || beside === null)
    return readOneFrame(bytes, file, readOptionsOf(options), lights, wishesOf(options), tools);
  const { result, curve } = await readPair(
    { bytes, file },
    { bytes: beside, file: jpeg },
    contentMark(beside),
    readOptionsOf(options),
    lights,
    wishesOf(options),
    tools,
  );
  if (curve !== null) await keepCurve(configFolder(), curve);
  return result;
}

/** Where each frame's regions go; two frames that would write the same file are wrong use, before anything is read. */
function plannedOutputs(files: readonly string[], options: FrameOptions): Map<string, string> {
  const outputs = new Map<string, string>();
  if (options.masks === undefined) return outputs;
  const taken = new Map<string, string>();
  for (const file of new Set(files)) {
    const path = join(options.masks, `${basename(file, extname(file))}.regions.png`);
    const other = taken.get(path);
    if (other !== undefined)
      throw new PaintstopError(
        'wrong-use',
        `${printable(other)} and ${printable(file)} would both write ${printable(path)}`,
        'give them in two runs with two folders',
      );
    taken.set(path, file);
    outputs.set(file, path);
  }
  return outputs;
}

/** What is read is never written to, whatever it is called. */
async function refuseInputs(files: readonly string[], outputs: readonly string[]): Promise<void> {
  for (const output of outputs)
    for (const file of files)
      if (await sameFile(file, output))
        throw new PaintstopError(
          'wrong-use',
          `${printable(output)} is one of the frames to read`,
          'give another name for what is written',
        );
}

async function writeExtras(
  masks: string | undefined,
  options: FrameOptions,
  result: FrameResult,
  world: World,
): Promise<void> {
  const { reading, grid, regions, frame, shapes } = result;
  if (masks !== undefined) {
    await writePng(masks, regionsPng(regions.fineMask, frame.widthPx, frame.heightPx));
    world.note(`wrote ${printable(masks)}`);
  }
  if (options.picture !== undefined) {
    await writePng(options.picture, framePicture(reading, grid, regions, shapes));
    world.note(`wrote ${printable(options.picture)}`);
  }
}

function readOptionsOf(options: FrameOptions): ReadOptions {
  return {
    ...(options.linear === true && { linear: true }),
    ...(options.iso !== undefined && { iso: options.iso }),
    ...(options.shutter !== undefined && { shutterSeconds: options.shutter }),
    ...(options.aperture !== undefined && { aperture: options.aperture }),
    ...(options.focal !== undefined && { focalMm: options.focal }),
    ...(options.pixelPitch !== undefined && { pixelPitchUm: options.pixelPitch }),
  };
}

function wishesOf(options: FrameOptions): Wishes {
  return {
    skyTargetStops: options.targetSky ?? DEFAULT_WISHES.skyTargetStops,
    balanceTargetStops: options.targetBalance ?? DEFAULT_WISHES.balanceTargetStops,
    toleranceStops: DEFAULT_WISHES.toleranceStops,
    maxIso: options.maxIso ?? DEFAULT_WISHES.maxIso,
    minAperture: options.minAperture ?? DEFAULT_WISHES.minAperture,
    maxShutterSeconds: options.maxShutter ?? DEFAULT_WISHES.maxShutterSeconds,
    trailPxAllowed: options.trailPx ?? DEFAULT_WISHES.trailPxAllowed,
  };
}

import { InvalidArgumentError, Option, type Command } from 'commander';
import type { Light } from '../model/reading.js';
import { DEFAULT_WISHES, type Wishes } from '../model/wishes.js';
import type { ReadOptions } from '../read/readFrame.js';
import { distinctLights, parseHeld, parseStand } from './lampOptions.js';

/** What every command that reads frames takes: the lamps, what the file does not tell, wishes and limits. */
export interface ReadingOptions {
  readonly linear?: boolean;
  readonly segmenter?: 'learned' | 'classical';
  readonly iso?: number;
  readonly shutter?: number;
  readonly aperture?: number;
  readonly focal?: number;
  readonly pixelPitch?: number;
  readonly held: readonly Light[];
  readonly stand: readonly Light[];
  readonly lights?: string;
  readonly targetSky?: number;
  readonly targetBalance?: number;
  readonly maxIso?: number;
  readonly minAperture?: number;
  readonly maxShutter?: number;
  readonly trailPx?: number;
  readonly delay?: number;
  readonly reach?: number;
}

export function addReadingOptions(command: Command): Command {
  const collect =
    (parse: (text: string) => Light) =>
    (text: string, before: readonly Light[]): readonly Light[] => [...before, parse(text)];
  return command
    .option(
      '--held <light>',
      'a light held for a counted time, like torch:3s@6m*0.5 (repeatable)',
      collect(parseHeld),
      [],
    )
    .option('--stand <light>', 'a lamp that burns through, like back@12m*0.5 (repeatable)', collect(parseStand), [])
    .option(
      '--lights <file>',
      'the lamps of the evening (paintstop lights --example); else lights.yaml beside the frame',
    )
    .addOption(
      new Option(
        '--segmenter <which>',
        'who tells sky from ground: a small network, or the method without training',
      ).choices(['learned', 'classical']),
    )
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
    .option('--delay <seconds>', "the camera's delay after the release is pressed (0: a remote)", between(0, 60))
    .option(
      '--reach <seconds>',
      'walk from the camera to where you paint; what exceeds the delay is lost',
      between(0, 600),
    );
}

export function between(least: number, most: number): (text: string) => number {
  return (text) => {
    const value = Number(text);
    if (text.trim() === '' || !Number.isFinite(value) || value < least || value > most)
      throw new InvalidArgumentError(`It must be a number from ${String(least)} to ${String(most)}.`);
    return value;
  };
}

export function whole(least: number, most: number): (text: string) => number {
  return (text) => {
    const value = between(least, most)(text);
    if (!Number.isInteger(value)) throw new InvalidArgumentError('It must be a whole number.');
    return value;
  };
}

/** A picture is written as PNG (ISO/IEC 15948): a name that says another kind would mislead whoever opens it. */
export function pngName(text: string): string {
  if (/\.(jpe?g|tiff?|webp|gif|bmp|heic|avif|dng|pdf|svg|html?)$/i.test(text))
    throw new InvalidArgumentError('It is written as PNG; give a name that ends in .png.');
  return text;
}

export function lightsOf(options: ReadingOptions): readonly Light[] {
  return distinctLights([...options.held, ...options.stand]);
}

export function readOptionsOf(options: ReadingOptions): ReadOptions {
  return {
    ...(options.linear === true && { linear: true }),
    ...(options.iso !== undefined && { iso: options.iso }),
    ...(options.shutter !== undefined && { shutterSeconds: options.shutter }),
    ...(options.aperture !== undefined && { aperture: options.aperture }),
    ...(options.focal !== undefined && { focalMm: options.focal }),
    ...(options.pixelPitch !== undefined && { pixelPitchUm: options.pixelPitch }),
  };
}

export function wishesOf(options: ReadingOptions): Wishes {
  return {
    skyTargetStops: options.targetSky ?? DEFAULT_WISHES.skyTargetStops,
    balanceTargetStops: options.targetBalance ?? DEFAULT_WISHES.balanceTargetStops,
    toleranceStops: DEFAULT_WISHES.toleranceStops,
    maxIso: options.maxIso ?? DEFAULT_WISHES.maxIso,
    minAperture: options.minAperture ?? DEFAULT_WISHES.minAperture,
    maxShutterSeconds: options.maxShutter ?? DEFAULT_WISHES.maxShutterSeconds,
    trailPxAllowed: options.trailPx ?? DEFAULT_WISHES.trailPxAllowed,
    lateSeconds: Math.max(0, (options.reach ?? 0) - (options.delay ?? 0)),
  };
}

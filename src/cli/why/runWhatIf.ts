import { PaintstopError } from '../../errors.js';
import type { Change, Light, Reading } from '../../model/reading.js';
import { ASSUMED_LIGHT } from '../../advise/facts.js';
import { distanceRatio } from '../../physics/exposure.js';
import { triedOf } from '../../pipeline/foretellFrame.js';
import { whatIf, withOption } from '../../pipeline/teachFrame.js';
import { whatIfAsJson } from '../../present/json.js';
import { whatIfAsText } from '../../present/why/whatIfText.js';
import { frameReader } from '../frameReader.js';
import { distinctLights } from '../lampOptions.js';
import type { DrawnSkyOptions } from '../drawnSky.js';
import { wishesOf, type ReadingOptions } from '../readingOptions.js';
import type { World } from '../world.js';
import { displayOf } from '../../pipeline/recordFrame.js';
import { writePreview } from '../writePreview.js';

export interface WhatIfOptions extends ReadingOptions, DrawnSkyOptions {
  readonly toIso?: number;
  readonly toShutter?: number;
  readonly toAperture?: number;
  readonly toHeld: readonly Light[];
  readonly toStand: readonly Light[];
  readonly toPaint?: number;
  readonly preview?: string;
  readonly json?: boolean;
  readonly red?: boolean;
}

export async function runWhatIf(file: string, options: WhatIfOptions, world: World): Promise<void> {
  const { result, lamps } = await (await frameReader(options, world))(file);
  const wishes = wishesOf(options);
  const { reading } = result;
  const option = whatIf(result, lamps, wishes, changesOf(reading, options));
  world.out(
    options.json === true
      ? `${whatIfAsJson(reading, option)}\n`
      : whatIfAsText(reading, option, world.columns, world.look(options.red === true)),
  );
  if (options.preview !== undefined) {
    const { frame, grid, regions } = result;
    const tried = triedOf({ ...result, reading: withOption(reading, option) });
    await writePreview(options.preview, { grid, mask: regions.mask, display: displayOf(frame) }, [tried], world);
  }
}

/** What is asked for, as changes from what the frame was shot with. */
function changesOf({ settings, lights }: Reading, options: WhatIfOptions): Change[] {
  const changes: Change[] = [];
  const { iso, shutterSeconds, aperture } = settings;
  const { toIso, toShutter, toAperture, toHeld, toStand, toPaint } = options;
  if (toIso !== undefined) changes.push({ what: 'iso', from: iso, to: toIso, factor: toIso / known(iso, '--iso') });
  if (toShutter !== undefined)
    changes.push({
      what: 'shutter',
      from: shutterSeconds,
      to: toShutter,
      factor: toShutter / known(shutterSeconds, '--shutter'),
    });
  if (toAperture !== undefined)
    changes.push({
      what: 'aperture',
      from: aperture,
      to: toAperture,
      factor: (known(aperture, '--aperture') / toAperture) ** 2,
    });
  for (const wanted of distinctLights([...toHeld, ...toStand])) changes.push(...lampChanges(lights, wanted));
  fitting(lights, toHeld, toShutter ?? shutterSeconds);
  if (toPaint !== undefined && lights.some(({ name }) => name !== ASSUMED_LIGHT.name))
    throw new PaintstopError(
      'wrong-use',
      '--to-paint is for a frame without lamp notes',
      'say which lamp, with --to-held or --to-stand',
    );
  if (toPaint !== undefined)
    for (const { name, seconds } of lights)
      changes.push({
        what: 'paintTime',
        light: name,
        from: seconds,
        to: seconds === null ? null : seconds * toPaint,
        factor: toPaint,
      });
  if (changes.length === 0)
    throw new PaintstopError(
      'wrong-use',
      'Nothing is changed',
      'say what: --to-iso, --to-shutter, --to-aperture, --to-held, --to-stand or --to-paint',
    );
  return changes;
}

/** A count must end before the shutter does. */
function fitting(lights: readonly Light[], toHeld: readonly Light[], shutterSeconds: number | null): void {
  for (const { name, kind, seconds } of lights) {
    const count = toHeld.find((own) => own.name === name)?.seconds ?? seconds;
    if (kind === 'held' && count !== null && shutterSeconds !== null && count > shutterSeconds)
      throw new PaintstopError(
        'wrong-use',
        `A count of ${String(count)} s with ${name} does not fit into a shutter of ${String(shutterSeconds)} s`,
        `give a shorter one with --to-held ${name}:SECONDS, or a longer shutter`,
      );
  }
}

function known(value: number | null, option: string): number {
  if (value === null)
    throw new PaintstopError('wrong-use', 'The frame does not tell what it was shot with', `give it with ${option}`);
  return value;
}

/** Each figure of a lamp that differs from how the frame was shot; a figure that was not noted cannot be compared. */
function lampChanges(lights: readonly Light[], wanted: Light): Change[] {
  const { name, kind } = wanted;
  const own = lights.find((light) => light.name === name && light.kind === kind);
  if (own === undefined)
    throw new PaintstopError(
      'wrong-use',
      `The frame was shot without a ${kind === 'held' ? 'held light' : 'stand lamp'} called ${name}`,
      `tell how it was used with --${kind}, or change all lamp light with --to-paint`,
    );
  const changes: Change[] = [];
  const differs = (from: number | null, to: number | null): boolean => to !== null && from !== to;
  if (differs(own.seconds, wanted.seconds))
    changes.push({
      what: 'paintTime',
      light: name,
      from: own.seconds,
      to: wanted.seconds,
      factor: wanted.seconds! / known(own.seconds, `--held ${name}:SECONDS`),
    });
  if (differs(own.distanceM, wanted.distanceM))
    changes.push({
      what: 'lampDistance',
      light: name,
      from: own.distanceM,
      to: wanted.distanceM,
      factor: distanceRatio(known(own.distanceM, `the metres of ${name} in --${kind}`), wanted.distanceM!),
    });
  if (differs(own.power, wanted.power))
    changes.push({
      what: 'lampPower',
      light: name,
      from: own.power,
      to: wanted.power,
      factor: wanted.power! / known(own.power, `the power of ${name} in --${kind}`),
    });
  return changes;
}

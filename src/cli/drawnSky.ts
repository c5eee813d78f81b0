import type { Command } from 'commander';
import { readBytes } from '../machine/files.js';
import type { DrawnSky } from '../pipeline/guidance.js';
import { PaintstopError, printable } from '../errors.js';

export interface DrawnSkyOptions {
  readonly skyMask?: string;
  readonly horizon?: readonly (readonly [number, number])[];
}

/** For commands that read one framing: sky drawn by hand. */
export function addDrawnSkyOptions(command: Command): Command {
  return command
    .option('--sky-mask <file>', 'where the sky is, drawn by you: a picture of the upright frame, white on the sky')
    .option(
      '--horizon <points>',
      'where the sky ends, as pixels of the upright frame, like "0,1200 900,1080 2600,1310"',
      points,
    );
}

const NUMBER = /^-?\d+(?:\.\d+)?$/;

function points(text: string): readonly (readonly [number, number])[] {
  const pairs = text.trim().split(/\s+/);
  const wrong = pairs.find((pair) => pair.split(',').length !== 2 || !pair.split(',').every((own) => NUMBER.test(own)));
  const remedy = 'write two or more points as x,y, with a space between them, like "0,1200 900,1080 2600,1310"';
  if (wrong !== undefined)
    throw new PaintstopError(
      'wrong-use',
      `--horizon: ${printable(wrong.slice(0, 40)) || 'nothing'} is no point`,
      remedy,
    );
  if (pairs.length < 2) throw new PaintstopError('wrong-use', '--horizon has one point', remedy);
  return pairs.map((pair) => {
    const [x, y] = pair.split(',').map(Number);
    return [x!, y!] as const;
  });
}

/** The sky as drawn, or null. Throws PaintstopError where it is drawn twice or its file cannot be read. */
export async function drawnSkyOf({ skyMask, horizon }: DrawnSkyOptions): Promise<DrawnSky | null> {
  if (skyMask !== undefined && horizon !== undefined)
    throw new PaintstopError('wrong-use', '--sky-mask and --horizon both draw the sky', 'give one of them');
  if (horizon !== undefined) return { horizon };
  if (skyMask === undefined) return null;
  const mask = await readBytes(skyMask).catch((cause: unknown) => {
    if (!(cause instanceof PaintstopError)) throw cause;
    throw new PaintstopError('wrong-use', `--sky-mask ${printable(skyMask)} cannot be read`, 'check its path');
  });
  return { mask, file: skyMask };
}

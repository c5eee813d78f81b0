import { InvalidArgumentError, type Command } from 'commander';
import { readBytes } from '../machine/files.js';
import type { DrawnSky } from '../pipeline/guidance.js';
import { PaintstopError } from '../errors.js';

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

function points(text: string): readonly (readonly [number, number])[] {
  const pairs = text
    .trim()
    .split(/\s+/)
    .map((pair) => pair.split(',').map((part) => (part === '' ? NaN : Number(part))));
  if (pairs.length < 2 || pairs.some((pair) => pair.length !== 2 || !pair.every(Number.isFinite)))
    throw new InvalidArgumentError('It must be two or more points, like "0,1200 900,1080 2600,1310".');
  return pairs.map((pair) => [pair[0]!, pair[1]!] as const);
}

/** The sky as drawn, or null. Throws PaintstopError where it is drawn twice or its file cannot be read. */
export async function drawnSkyOf({ skyMask, horizon }: DrawnSkyOptions): Promise<DrawnSky | null> {
  if (skyMask !== undefined && horizon !== undefined)
    throw new PaintstopError('wrong-use', '--sky-mask and --horizon both draw the sky', 'give one of them');
  if (horizon !== undefined) return { horizon };
  return skyMask === undefined ? null : { mask: await readBytes(skyMask), file: skyMask };
}

import { PaintstopError, printable } from '../errors.js';
import { LAMP_BOUNDS, MOST_LAMPS } from '../lamps/setting.js';
import type { Light } from '../model/reading.js';

const HELD = /^([^:@*\s][^:@*]*):(\d+(?:\.\d+)?)s?(?:@(\d+(?:\.\d+)?)m?)?(?:\*(\d+(?:\.\d+)?%?))?$/;
const STAND = /^([^:@*\s][^:@*]*)(?:@(\d+(?:\.\d+)?)m?)?(?:\*(\d+(?:\.\d+)?%?))?$/;

/** `torch:3s@6m*0.5`: a light switched on for a counted time. */
export function parseHeld(text: string): Light {
  const match = HELD.exec(text);
  if (match === null)
    throw wrong('--held', text, 'torch:3s@6m*0.5 (name, seconds, metres, power; the last two may be left out)');
  return checked('--held', text, {
    name: match[1]!.trim(),
    kind: 'held',
    seconds: Number(match[2]),
    distanceM: match[3] === undefined ? null : Number(match[3]),
    power: match[4] === undefined ? 1 : powerOf(match[4]),
  });
}

/** `back@12m*0.5`: a lamp that burns through the whole exposure. */
export function parseStand(text: string): Light {
  const match = STAND.exec(text);
  if (match === null) throw wrong('--stand', text, 'back@12m*0.5 (name, metres, power; the last two may be left out)');
  return checked('--stand', text, {
    name: match[1]!.trim(),
    kind: 'stand',
    seconds: null,
    distanceM: match[2] === undefined ? null : Number(match[2]),
    power: match[3] === undefined ? null : powerOf(match[3]),
  });
}

/** `0.5` or `50%`. */
function powerOf(text: string): number {
  return text.endsWith('%') ? Number(text.slice(0, -1)) / 100 : Number(text);
}

function checked(option: string, text: string, light: Light): Light {
  const { name, seconds, distanceM, power } = light;
  if (name.length > 40 || printable(name) !== name)
    throw refused(
      option,
      printable(text).slice(0, 60),
      'the name is too long',
      'name it in at most 40 printable letters',
    );
  if (seconds === 0 || distanceM === 0 || power === 0)
    throw refused(
      option,
      text,
      'no lamp lights with a zero',
      'give figures above zero, and leave a lamp out that was off',
    );
  if (power !== null && power > 1)
    throw refused(option, text, 'the power is over full power', 'give it as a part of full power: 0.5, or 50%');
  if ((seconds ?? 0) > LAMP_BOUNDS.seconds.most || (distanceM ?? 0) > LAMP_BOUNDS.distanceM.most)
    throw refused(option, text, 'the figure is too large', 'give the seconds and metres that were used');
  if ((seconds ?? 1) < LAMP_BOUNDS.seconds.least || (distanceM ?? 1) < LAMP_BOUNDS.distanceM.least)
    throw refused(option, text, 'the figure is too small', 'give at least a tenth of a second, and of a metre');
  return light;
}

function refused(option: string, text: string, why: string, remedy: string): PaintstopError {
  return new PaintstopError('wrong-use', `${option} ${text}: ${why}`, remedy);
}

function wrong(option: string, text: string, wanted: string): PaintstopError {
  return new PaintstopError('wrong-use', `${option} ${text} is not understood`, `write it like ${wanted}`);
}

/** Two lights of one name could not be told apart. */
export function distinctLights<Named extends { readonly name: string }>(lights: readonly Named[]): readonly Named[] {
  if (lights.length > MOST_LAMPS)
    throw new PaintstopError(
      'wrong-use',
      `${String(lights.length)} lights are too many`,
      `give at most ${String(MOST_LAMPS)}`,
    );
  const names = lights.map((light) => light.name);
  const twice = names.find((name, n) => names.indexOf(name) !== n);
  if (twice !== undefined)
    throw new PaintstopError('wrong-use', `Two lights are called ${twice}`, 'give each light a name of its own');
  return lights;
}

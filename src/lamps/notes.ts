import type { Light } from '../model/reading.js';
import { isReserved, LAMP_BOUNDS, MOST_LAMPS, type LampFigure, type LampSetting } from './setting.js';

/** What a line typed while watching asks for. */
export type Note =
  | {
      readonly kind: 'set';
      /** `last`: the frame on the screen was shot so; `next`: from the next frame on. */
      readonly frame: 'last' | 'next';
      readonly setting: LampSetting;
      /** A lamp that was not known before. */
      readonly added: Light | null;
    }
  /** Done as advised: the option's number, from 1. */
  | { readonly kind: 'done'; readonly frame: 'last' | 'next'; readonly option: number }
  | { readonly kind: 'undo' | 'help' | 'quit' }
  | { readonly kind: 'unclear'; readonly says: string };

const NAMED_POWERS: Readonly<Record<string, number>> = {
  full: 1,
  half: 0.5,
  third: 0.33,
  quarter: 0.25,
  eighth: 0.125,
  off: 0,
};

/**
 * One short line: `torch 2` (seconds), `back half`, `back 17m`, `torch 2.5 8m 50%`, `back off`, `was torch 2` (of the frame on the screen),
 * `rim stand 9m` (a new lamp), `done`, `undo`, `help`, `quit`. A lamp may be called by the first letters of its name.
 */
export function readNote(line: string, lamps: readonly Light[]): Note {
  const words = line.trim().split(/\s+/);
  const first = words[0]!.toLowerCase();
  if (first === '') return unclear('nothing was typed');
  if (words.length === 1) {
    if (first === 'undo' || first === 'u') return { kind: 'undo' };
    if (first === 'quit' || first === 'q') return { kind: 'quit' };
    if (first === 'help' || first === '?') return { kind: 'help' };
  }
  const frame = first === 'was' ? 'last' : 'next';
  const told = frame === 'last' ? words.slice(1) : words;
  if (told[0]?.toLowerCase() === 'done' && told.length <= 2) {
    const option = told.length === 1 ? 1 : Number(told[1]);
    return Number.isInteger(option) && option > 0 ? { kind: 'done', frame, option } : unclear('say done, or done 2');
  }
  return readLamp(told, lamps, frame);
}

function readLamp(words: readonly string[], lamps: readonly Light[], frame: 'last' | 'next'): Note {
  const called = lampCalled(words, lamps);
  if (words.length === 0) return unclear('say what it was, like: was torch 2');
  if (called === 'several') return unclear(`more than one lamp begins with ${words[0]!}`);
  const kind = words[called?.words ?? 1]?.toLowerCase();
  const added =
    called === null && words[0] !== undefined && (kind === 'held' || kind === 'stand') ? newLamp(words[0], kind) : null;
  if (called === null && kind !== undefined && words.length === 2 && added !== null)
    return unclear(
      kind === 'held' ? `say its count too: ${words[0]!} held 3` : `say where it stands too: ${words[0]!} stand 9m`,
    );
  if (called === null && added === null) {
    const known = lamps.map(({ name }) => name).join(', ');
    return unclear(
      `no lamp ${words[0] ?? ''}${known === '' ? '' : ` (there is ${known})`}; a new one: ${words[0] ?? 'rim'} held 3, or ${words[0] ?? 'rim'} stand 9m`,
    );
  }
  if (added !== null && lamps.length >= MOST_LAMPS) return unclear(`${String(MOST_LAMPS)} lamps are enough`);
  const lamp = added ?? called!.lamp;
  const figures = readFigures(words.slice(added === null ? called!.words : 2), lamp);
  if (typeof figures === 'string') return unclear(figures);
  return { kind: 'set', frame, setting: { lamp: lamp.name, ...figures }, added };
}

function newLamp(name: string, kind: Light['kind']): Light | null {
  const own = name.slice(0, 40);
  if (isReserved(own) || Object.hasOwn(NAMED_POWERS, own.toLowerCase())) return null;
  return /^\p{L}[\p{L}\p{N}_-]*$/u.test(own) ? { name: own, kind, seconds: null, distanceM: null, power: null } : null;
}

/** The lamp whose whole name the line begins with, else the only one whose name begins with the first word. */
function lampCalled(
  words: readonly string[],
  lamps: readonly Light[],
): { lamp: Light; words: number } | 'several' | null {
  const line = `${words.join(' ').toLowerCase()} `;
  const named = lamps
    .filter(({ name }) => line.startsWith(`${name.toLowerCase()} `))
    .sort((a, b) => b.name.length - a.name.length)[0];
  if (named !== undefined) return { lamp: named, words: named.name.split(' ').length };
  const first = words[0]?.toLowerCase() ?? '';
  const begun = first === '' ? [] : lamps.filter(({ name }) => name.toLowerCase().startsWith(first));
  if (begun.length > 1) return 'several';
  return begun[0] === undefined ? null : { lamp: begun[0], words: 1 };
}

type Figures = Omit<LampSetting, 'lamp'>;

/** The figures, or what is wrong with them. */
function readFigures(words: readonly string[], lamp: Light): Figures | string {
  const figures: { seconds?: number; distanceM?: number; power?: number } = {};
  if (words.length === 0) return `say what changed: ${lamp.kind === 'held' ? `${lamp.name} 2` : `${lamp.name} half`}`;
  for (const word of words) {
    const figure = readFigure(word.toLowerCase().replace(',', '.'), lamp);
    if (figure === null && /^\p{L}/u.test(word) && words.length > 1)
      return `${word} is not understood here: one lamp a line`;
    if (figure === null)
      return `${word} is not understood; seconds like 2, metres like 17m, power like half, 40% or off`;
    const { what, value } = figure;
    if (what === 'seconds' && value === 0) return `a light that was not used: ${lamp.name} off`;
    const { least, most } = LAMP_BOUNDS[what];
    if (value < least || value > most) return `${word} is out of bounds for a lamp`;
    if (what === 'seconds' && lamp.kind === 'stand')
      return `${lamp.name} is a stand lamp and burns through: metres like 17m, or power like half`;
    figures[what] = value;
  }
  return figures;
}

function readFigure(word: string, lamp: Light): { what: LampFigure; value: number } | null {
  const named = Object.hasOwn(NAMED_POWERS, word) ? NAMED_POWERS[word] : undefined;
  if (named !== undefined) return { what: 'power', value: named };
  if (word === 'on') return { what: 'power', value: lamp.power === null || lamp.power === 0 ? 1 : lamp.power };
  const part = /^1\/(\d{1,3})$/.exec(word);
  if (part !== null && Number(part[1]) > 0) return { what: 'power', value: Number((1 / Number(part[1])).toFixed(4)) };
  const match = /^(\d+(?:\.\d+)?)(s|m|%)?$/.exec(word);
  if (match === null) return null;
  const value = Number(match[1]);
  if (match[2] === 'm') return { what: 'distanceM', value };
  if (match[2] === '%') return { what: 'power', value: value / 100 };
  return { what: 'seconds', value };
}

function unclear(says: string): Note {
  return { kind: 'unclear', says };
}

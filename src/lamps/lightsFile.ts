import {
  LineCounter,
  isMap,
  isScalar,
  isSeq,
  parseDocument,
  type Document,
  type Node,
  type Pair,
  stringify,
  type YAMLMap,
  type YAMLSeq,
} from 'yaml';
import { PaintstopError, printable } from '../errors.js';
import type { Light } from '../model/reading.js';
import { LAMP_BOUNDS, MOST_LAMPS, applySetting, isReserved, type LampFigure, type LampSetting } from './setting.js';

/** The lamps of an evening, and what was changed from a frame on. */
export interface LightsFile {
  readonly lamps: readonly Light[];
  readonly changes: readonly { readonly from: string; readonly settings: readonly LampSetting[] }[];
}

/** Names in the file of a lamp's figures. */
const FIGURES: Readonly<Record<string, LampFigure>> = { seconds: 'seconds', metres: 'distanceM', power: 'power' };

/**
 * Reads a lights file (YAML 1.2; docs/lights.md, docs/schemas/lights.json). Throws `lights-file` with line and column of the first thing
 * that is wrong.
 */
export function parseLights(text: string, file: string): LightsFile {
  const { document, wrong } = open(text, file);
  const root = document.contents;
  if (root === null) return { lamps: [], changes: [] };
  const top = mapOf(root, 'the file', wrong);
  let lamps: readonly Light[] = [];
  let changes: LightsFile['changes'] = [];
  for (const { name, value, node } of top) {
    if (name === 'lamps') lamps = lampsOf(value, node, wrong);
    else if (name !== 'changes') throw wrong(node, `${name} is not known here; there are lamps and changes`);
  }
  for (const { name, value } of top) if (name === 'changes') changes = changesOf(value, lamps, wrong);
  return { lamps, changes };
}

/** The lamps of a frame: those of the evening with every change up to it, in the order of the frames' names (numbers count as numbers). */
export function lampsOfFrame({ lamps, changes }: LightsFile, frame: string): readonly Light[] {
  return changes
    .filter(({ from }) => inOrder(from, frame) <= 0)
    .sort((a, b) => inOrder(a.from, b.from))
    .flatMap(({ settings }) => settings)
    .reduce(applySetting, lamps);
}

/**
 * Adds changes from a frame on, and lamps that the file does not have; what else is in the text, comments and spaces too, stays. Lists in
 * braces or brackets are written anew.
 */
export function withChanges(
  text: string,
  file: string,
  changes: LightsFile['changes'],
  added: readonly Light[] = [],
): string {
  const known = parseLights(text, file);
  const lamps = added.filter(
    (lamp, n) =>
      !known.lamps.some(({ name }) => name === lamp.name) && added.findIndex(({ name }) => name === lamp.name) === n,
  );
  const lampLines = lamps.map((lamp) => `${written(lamp.name)}: ${written(lampFigures(lamp))}`);
  const changeLines = changes.flatMap(({ from, settings }) => [
    `- from: ${written(from)}`,
    ...settings.map(({ lamp, ...figures }) => `  ${written(lamp)}: ${written(namesOf(figures))}`),
  ]);
  return withLines(withLines(text, file, 'lamps', lampLines), file, 'changes', changeLines);
}

/** Lines put behind what a block of that name holds; a file without it gets one at its end. */
function withLines(text: string, file: string, name: 'lamps' | 'changes', lines: readonly string[]): string {
  if (lines.length === 0) return text;
  const { document } = open(text, file);
  const node = isMap(document.contents) ? (document.contents as YAMLMap).get(name, true) : undefined;
  const isBlock = (isMap(node) || isSeq(node)) && node.flow !== true && node.items.length > 0;
  if (isBlock) {
    const [start, end] = node.range!;
    const lineStart = text.lastIndexOf('\n', start - 1) + 1;
    const last = text.slice(0, end).trimEnd().length;
    const lineEnd = text.indexOf('\n', last);
    const at = lineEnd < 0 ? text.length : lineEnd + 1;
    const indent = ' '.repeat(start - lineStart);
    const put = `${at === text.length && !text.endsWith('\n') ? '\n' : ''}${lines.map((line) => `${indent}${line}\n`).join('')}`;
    return text.slice(0, at) + put + text.slice(at);
  }
  const block = `${name}:\n${lines.map((line) => `  ${line}\n`).join('')}`;
  // Behind a document's end, or a map in braces, nothing can be put as lines.
  const endsOpen = !(isMap(document.contents) && document.contents.flow === true) && !/^\.\.\./m.test(text);
  if (document.contents === null || (node === undefined && endsOpen))
    return `${text}${text === '' || text.endsWith('\n') ? '' : '\n'}${text.trim() === '' ? '' : '\n'}${block}`;
  const fresh = parseDocument(block).get(name) as YAMLMap | YAMLSeq;
  if (isMap(node) && isMap(fresh)) for (const item of fresh.items) node.add(item);
  else if (isSeq(node) && isSeq(fresh)) for (const item of fresh.items) node.add(item);
  else document.set(name, fresh);
  return document.toString({ lineWidth: 0 });
}

function lampFigures({ kind, seconds, distanceM, power }: Light): object {
  return { kind, ...namesOf({ seconds, distanceM, power }) };
}

function namesOf(figures: { seconds?: number | null; distanceM?: number | null; power?: number | null }): object {
  const named = Object.entries(FIGURES).map(([name, figure]) => [name, figures[figure]] as const);
  return Object.fromEntries(named.filter(([, value]) => value !== undefined && value !== null));
}

/** On one line, as a person would write it. */
function written(value: object | string): string {
  return stringify(value, { collectionStyle: 'flow', lineWidth: 0 }).trimEnd();
}

type Wrong = (node: Node | null, says: string) => PaintstopError;

function open(text: string, file: string): { document: Document.Parsed; wrong: Wrong } {
  const lines = new LineCounter();
  const document = parseDocument(text.replace(/^\uFEFF/, ''), {
    lineCounter: lines,
    uniqueKeys: true,
    prettyErrors: false,
  });
  const fault = (offset: number, says: string): PaintstopError => {
    const { line, col } = lines.linePos(offset);
    return new PaintstopError(
      'lights-file',
      `${printable(file)}, line ${String(Math.max(1, line))}, column ${String(Math.max(1, col))}: ${printable(says)}`,
    );
  };
  const error = document.errors[0];
  if (error?.code === 'MULTIPLE_DOCS')
    throw fault(error.pos[0], 'a second document begins here; one file is one evening');
  if (error !== undefined && /call stack/i.test(error.message))
    throw fault(error.pos[0], 'this is nested too deeply for the lamps of an evening');
  if (error !== undefined) throw fault(error.pos[0], error.message.split('\n')[0]!);
  return { document, wrong: (node, says) => fault(node?.range?.[0] ?? 0, says) };
}

interface Entry {
  readonly name: string;
  readonly value: Node | null;
  /** The name's own place. */
  readonly node: Node | null;
}

function mapOf(node: Node | null, what: string, wrong: Wrong): Entry[] {
  if (!isMap(node)) throw wrong(node, `${what} must be a list of names with values`);
  return (node as YAMLMap<Node, Node | null>).items.map(({ key, value }: Pair<Node, Node | null>) => {
    if (!isScalar(key) || (typeof key.value !== 'string' && typeof key.value !== 'number'))
      throw wrong(key, 'a name is expected here');
    return { name: String(key.value), value, node: key };
  });
}

function lampsOf(node: Node | null, key: Node | null, wrong: Wrong): readonly Light[] {
  if (node === null || (isScalar(node) && node.value === null)) return [];
  const entries = mapOf(node, 'lamps', wrong);
  if (entries.length > MOST_LAMPS) throw wrong(key, `at most ${String(MOST_LAMPS)} lamps`);
  const lower = entries.map(({ name }) => name.toLowerCase());
  const twice = entries.find((_, n) => lower.indexOf(lower[n]!) !== n);
  if (twice !== undefined) throw wrong(twice.node, `${twice.name} is there already`);
  return entries.map((entry) => lampOf(entry, wrong));
}

function lampOf({ name, value, node }: Entry, wrong: Wrong): Light {
  if (name === '' || name.length > 40 || printable(name) !== name || isReserved(name))
    throw wrong(
      node,
      'a lamp has a name of at most 40 printable letters, and none of was, done, undo, help, quit, from',
    );
  const entries = mapOf(value, name, wrong);
  const kind = entries.find((entry) => entry.name === 'kind')?.value;
  if (!isScalar(kind) || (kind.value !== 'held' && kind.value !== 'stand'))
    throw wrong(kind ?? node, `${name} needs its kind: held (switched on for a count) or stand (burns through)`);
  const { figures, powers } = figuresOf(
    entries.filter((entry) => entry.name !== 'kind'),
    kind.value,
    wrong,
  );
  return {
    name,
    kind: kind.value,
    seconds: figures.seconds ?? null,
    distanceM: figures.distanceM ?? null,
    // A torch is used at full power where nothing else is said; a lamp on a stand may be anywhere on its dial.
    power: figures.power ?? (kind.value === 'held' ? 1 : null),
    ...(powers !== null && { powers }),
  };
}

function figuresOf(
  entries: readonly Entry[],
  kind: Light['kind'],
  wrong: Wrong,
): { figures: Omit<LampSetting, 'lamp'>; powers: readonly number[] | null } {
  const figures: Partial<Record<LampFigure, number>> = {};
  let powers: readonly number[] | null = null;
  for (const { name, value, node } of entries) {
    const figure = Object.hasOwn(FIGURES, name) ? FIGURES[name] : undefined;
    if (name === 'powers') powers = powersOf(value, wrong);
    else if (figure === undefined)
      throw wrong(node, `${name} is not known here; there are kind, seconds, metres, power and powers`);
    else if (figure === 'seconds' && kind === 'stand')
      throw wrong(node, 'a stand lamp burns through and has no seconds');
    else figures[figure] = numberOf(value, figure, name, wrong);
  }
  return { figures, powers };
}

function numberOf(node: Node | null, figure: LampFigure, name: string, wrong: Wrong): number {
  const { least, most } = LAMP_BOUNDS[figure];
  const value = isScalar(node) ? node.value : null;
  if (typeof value !== 'number' || !(value >= least && value <= most))
    throw wrong(node, `${name} must be a number from ${String(least)} to ${String(most)}`);
  return value;
}

function powersOf(node: Node | null, wrong: Wrong): readonly number[] {
  if (!isSeq(node) || node.items.length === 0) throw wrong(node, 'powers must be a list like [1, 0.5, 0.25]');
  return (node.items as Node[]).map((item) => {
    const value = numberOf(item, 'power', 'each of powers', wrong);
    if (value === 0) throw wrong(item, 'each of powers must be above 0; a lamp that is off has power: 0');
    return value;
  });
}

function changesOf(node: Node | null, lamps: readonly Light[], wrong: Wrong): LightsFile['changes'] {
  if (node === null || (isScalar(node) && node.value === null)) return [];
  if (!isSeq(node)) throw wrong(node, 'changes must be a list that begins with "- from: FRAME"');
  return (node.items as Node[]).map((item) => {
    const entries = mapOf(item, 'a change', wrong);
    const from = entries.find(({ name }) => name === 'from')?.value;
    if (!isScalar(from) || (typeof from.value !== 'string' && typeof from.value !== 'number'))
      throw wrong(from ?? item, 'a change begins with "from:" and the name of its first frame');
    const settings = entries
      .filter(({ name }) => name !== 'from')
      .map(({ name, value, node: at }): LampSetting => {
        const lamp = lamps.find((light) => light.name === name);
        if (lamp === undefined) throw wrong(at, `${name} is none of the lamps`);
        const { figures, powers } = figuresOf(mapOf(value, name, wrong), lamp.kind, wrong);
        if (powers !== null) throw wrong(at, 'powers belong to the lamp itself, not to a change');
        return { lamp: name, ...figures };
      });
    return { from: String(from.value), settings };
  });
}

/** Names of frames in order, numbers as numbers, endings left out. */
function inOrder(one: string, other: string): number {
  return stemOf(one).localeCompare(stemOf(other), 'en', { numeric: true });
}

function stemOf(name: string): string {
  const last = name.split(/[\\/]/).pop()!;
  const dot = last.lastIndexOf('.');
  return dot > 0 ? last.slice(0, dot) : last;
}

/** What `paintstop lights --example` prints. */
export const EXAMPLE_LIGHTS = `# The lamps of an evening, for paintstop. Save it as lights.yaml beside the frames.
# What you write behind a # stays when paintstop adds a line.

lamps:
  torch:
    kind: held                      # switched on for a counted time
    seconds: 3
    metres: 6
    power: 1                        # part of full power
    powers: [1, 0.5, 0.25, 0.1]     # the steps it has; leave out if it dims freely
  back:
    kind: stand                     # burns through the whole exposure
    metres: 12
    power: 0.5

# What was changed, from that frame on. power: 0 is off.
changes:
  - from: moor-0413.jpg
    torch: { seconds: 1.5 }
    back: { power: 0.25 }
`;

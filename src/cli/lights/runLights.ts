import { stat } from 'node:fs/promises';
import { dirname, join, resolve } from 'node:path';
import { PaintstopError, printable } from '../../errors.js';
import { withoutUndone, type Happening } from '../../lamps/evening.js';
import { parseLights, withChanges, type LightsFile } from '../../lamps/lightsFile.js';
import type { Light } from '../../model/reading.js';
import { replaceUsersFile } from '../../machine/files.js';
import { forgetLamp, knownKit } from '../../machine/kitStore.js';
import { configFolder } from '../../machine/ownStore.js';
import { strengthLearned, type KitLamp } from '../../pipeline/learnLamps.js';
import { readJournal, stateFolder } from '../../machine/journal.js';
import { lampInWords } from '../../present/watch/lampWords.js';
import { LIGHTS_NAME, lightsText } from '../lampsOfFrames.js';
import { isWatchLine, type WatchLine } from '../watch/watchLine.js';
import type { World } from '../world.js';

export { EXAMPLE_LIGHTS as EXAMPLE } from '../../lamps/lightsFile.js';

/** Prints the kit, or takes a lamp out of it. */
export async function runKit(forget: string | null, world: World): Promise<void> {
  const folder = configFolder();
  if (forget !== null && !(await forgetLamp(folder, forget)))
    throw new PaintstopError('wrong-use', `The kit has no lamp ${printable(forget)}`, 'see paintstop lights --kit');
  const kit = await knownKit(folder);
  for (const lamp of kit) world.out(`${printable(kitLampInWords(lamp))}\n`);
  if (kit.length === 0) world.out('The kit is empty: read frames lit by one lamp alone, with its distance noted.\n');
}

function kitLampInWords(lamp: KitLamp): string {
  const { candela, spreadStops } = strengthLearned(lamp);
  const frames = lamp.samples.length === 1 ? 'one frame' : `${String(lamp.samples.length)} frames`;
  return `${lamp.kind.padEnd(6)}${lamp.name}: ${String(candela)} cd at full power, give or take ${spreadStops.toFixed(1)} stop (${frames})`;
}

export async function runLights(path: string, addNotes: boolean, world: World): Promise<void> {
  const isFolder = (await stat(path).catch(() => null))?.isDirectory() === true;
  const file = isFolder ? join(path, LIGHTS_NAME) : path;
  if (addNotes && !(await takeNotes(isFolder ? path : dirname(resolve(path)), file, world))) return;
  const lights = parseLights(await lightsText(file), file);
  for (const lamp of lights.lamps) world.out(`${lamp.kind.padEnd(6)}${printable(lampInWords(lamp, true))}\n`);
  if (lights.lamps.length === 0) world.out('no lamps\n');
  for (const { from, settings } of lights.changes)
    world.out(`from ${printable(from)}: ${settings.map((own) => printable(describe(own))).join('; ')}\n`);
}

function describe({ lamp, seconds, distanceM, power }: LightsFile['changes'][number]['settings'][number]): string {
  const parts = [
    ...(seconds === undefined ? [] : [`${String(seconds)} s`]),
    ...(distanceM === undefined ? [] : [`${String(distanceM)} m`]),
    ...(power === undefined ? [] : [power === 0 ? 'off' : `${String(Number((power * 100).toFixed(1)))} %`]),
  ];
  return `${lamp} ${parts.join(' ')}`;
}

/** False when there is no lights file and nothing to write. Each note goes to the frame that it was of, or to the first frame answered after it; notes that no frame followed wait. */
async function takeNotes(folder: string, file: string, world: World): Promise<boolean> {
  const journal = await readJournal(stateFolder(), folder, isWatchLine);
  if (journal === null)
    throw new PaintstopError('not-found', `Nothing was noted while watching ${folder}`, 'watch it first');
  const text = await lightsText(file).catch((cause: unknown) => {
    if (cause instanceof PaintstopError && cause.code === 'not-found') return '';
    throw cause;
  });
  const known = parseLights(text, file);
  const { changes, added } = changesOf(journal.lines, known);
  if (changes.length === 0) {
    world.note('paintstop: no note to add; a note that no frame followed waits.');
    return text !== '';
  }
  const lamps = [...lampsNeeded(journal.lines, known, changes), ...added];
  const merged = withChanges(text, file, changes, lamps);
  try {
    parseLights(merged, file);
  } catch (cause) {
    const why = cause instanceof PaintstopError ? cause.message : 'it would be no YAML';
    throw new PaintstopError(
      'cannot-write',
      `${file} was left alone, since with the notes in it something would be wrong: ${why}`,
      'add them by hand; paintstop lights --example shows how',
    );
  }
  await replaceUsersFile(file, merged);
  world.note(`wrote ${printable(file)}: ${String(changes.length)} more`);
  return true;
}

type Change = LightsFile['changes'][number];

/**
 * Lamps that the file does not have yet, as the first frame was lit by them: all of an evening whose lamps were given on the command line,
 * else those that the notes are of.
 */
function lampsNeeded(lines: readonly WatchLine[], known: LightsFile, changes: readonly Change[]): readonly Light[] {
  const named = new Set(changes.flatMap(({ settings }) => settings.map(({ lamp }) => lamp)));
  const seen = new Map<string, Light>();
  for (const { kept } of lines)
    for (const lamp of kept?.settings.lights ?? []) if (!seen.has(lamp.name)) seen.set(lamp.name, lamp);
  return [...seen.values()].filter(({ name }) => known.lamps.length === 0 || named.has(name));
}

function changesOf(
  lines: readonly WatchLine[],
  known: LightsFile,
): { changes: Change[]; added: NonNullable<NoteOf['added']>[] } {
  const names = new Map(
    lines.flatMap(({ happening, kept }) =>
      happening.kind === 'answer' && kept !== undefined ? [[happening.file, kept.shown.file] as const] : [],
    ),
  );
  const changes: Change[] = [];
  const added: NonNullable<NoteOf['added']>[] = [];
  let waiting: NoteOf[] = [];
  const spelled = (name: string): string =>
    known.lamps.find((lamp) => lamp.name.toLowerCase() === name.toLowerCase())?.name ?? name;
  const put = (from: string, note: NoteOf): void => {
    if (note.added !== null) added.push(note.added);
    // As the file spells it.
    const settings = note.settings.map((own) => ({ ...own, lamp: spelled(own.lamp) }));
    const change = { from, settings };
    const isThere = known.changes.some(
      (own) => own.from === from && JSON.stringify(own.settings) === JSON.stringify(settings),
    );
    if (!isThere) changes.push(change);
  };
  for (const happening of withoutUndone(lines.map((line) => line.happening))) {
    if (happening.kind === 'answer') {
      const name = names.get(happening.file);
      if (name !== undefined)
        waiting.forEach((note) => {
          put(name, note);
        });
      if (name !== undefined) waiting = [];
    } else if (happening.frame === null) waiting.push(happening);
    else {
      const name = names.get(happening.frame);
      if (name !== undefined) put(name, happening);
    }
  }
  return { changes, added };
}

type NoteOf = Extract<Happening, { kind: 'note' }>;

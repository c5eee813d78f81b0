import { printable } from '../../errors.js';
import type { SincePrevious } from '../../model/night.js';
import type { Light, Option, Reading } from '../../model/reading.js';
import { wrap } from '../style.js';
import { bigWords } from './bigWords.js';
import { BLOCK_HEIGHT, blockLetters } from './blockLetters.js';
import { gaugeLines, type Strokes } from './gauges.js';
import { lampInWords } from './lampWords.js';

/** A try as the strip of tries shows it. */
export interface TryShown {
  readonly file: string;
  readonly skyMissStops: number | null;
  readonly balanceMissStops: number | null;
  readonly balanced: boolean;
  readonly newSetup: boolean;
}

export interface FrameShown {
  readonly reading: Reading;
  readonly lamps: readonly Light[];
  /** Lamps whose setting was noted; the others are assumed. */
  readonly noted: readonly string[];
  readonly sincePrevious: SincePrevious | null;
  /** What had been advised, when the camera stands as it said. */
  readonly foretold: Option['predicted'] | null;
}

export interface WatchView {
  readonly folder: string;
  readonly isThere: boolean;
  readonly reading: string | null;
  readonly waiting: number;
  readonly frame: FrameShown | null;
  readonly tries: readonly TryShown[];
  readonly nextLamps: readonly Light[];
  readonly nextNoted: readonly string[];
  readonly typed: string;
  readonly says: string | null;
  readonly help: boolean;
  /** What is left of the night for this framing. */
  readonly outlook: string | null;
}

export interface ScreenLine {
  readonly text: string;
  /** Read first: a shade brighter. */
  readonly first: boolean;
}

/** A part of the screen; parts of less weight go first when the screen is low. */
interface Part {
  readonly lines: readonly string[];
  readonly weight: number;
  readonly first?: boolean;
}

const HELP = [
  'One short line, then Enter. First letters of a lamp will do.',
  '',
  'torch 2        counted 2 s, from the next frame on',
  'back 17m       moved to 17 m',
  'back half      half of full power (40%, 1/4, off, on)',
  'torch 2 8m     several at once',
  'was torch 2    the frame on the screen was shot so',
  'done           next frame as advised (done 2: the second way)',
  'was done       the frame on the screen was shot as advised',
  'rim stand 9m   a new lamp (or: rim held 3)',
  'undo           takes back the last note',
  'quit           ends; every note is kept',
];

/** The screen of `watch`, exactly `rows` lines of `columns` characters. */
export function watchScreen(view: WatchView, columns: number, rows: number, strokes: Strokes): ScreenLine[] {
  const bottom: Part[] = [
    ...(view.says === null ? [] : [{ lines: wrap(printable(view.says), columns, '  ').slice(0, 2), weight: 95 }]),
    { lines: [`> ${printable(view.typed)}_`], weight: 100, first: true },
  ];
  const top = view.help ? [{ lines: HELP, weight: 90 }] : partsOf(view, columns, rows, strokes);
  const shown = fit([...top, ...bottom], rows);
  const tail = shown.slice(-bottom.length).flatMap(linesOf);
  const head = shown.slice(0, -bottom.length).flatMap(linesOf);
  const filled = [...head.slice(0, rows - tail.length)];
  while (filled.length + tail.length < rows) filled.push({ text: '', first: false });
  return [...filled, ...tail]
    .slice(-rows)
    .map(({ text, first }) => ({ text: cut(text, columns).padEnd(columns), first }));
}

function linesOf({ lines, first }: Part): ScreenLine[] {
  return lines.map((text) => ({ text, first: first === true }));
}

/** Leaves out the least weighty parts until the rest fits. */
function fit(parts: readonly Part[], rows: number): Part[] {
  const left = [...parts];
  const height = (): number => left.reduce((sum, { lines }) => sum + lines.length, 0);
  while (left.length > 1 && height() > rows) {
    const least = left.reduce((best, part, n) => (part.weight < left[best]!.weight ? n : best), 0);
    left.splice(least, 1);
  }
  return left;
}

function partsOf(view: WatchView, columns: number, rows: number, strokes: Strokes): Part[] {
  const { frame } = view;
  if (frame === null) return waitingParts(view, columns);
  const { reading } = frame;
  const best = reading.advice.options[0];
  return [
    { lines: [headLine(view, reading)], weight: 80 },
    ...bigParts(reading, columns, rows, strokes),
    { lines: wrap(reading.advice.summary, columns, '  ').slice(0, 5), weight: 90, first: true },
    ...gaugeParts(reading, columns, strokes),
    ...(best === undefined || best.walks === 0
      ? []
      : [{ lines: walkLines(best, reading.lights, columns), weight: 88, first: true }]),
    { lines: foretoldLines(frame, columns), weight: frame.sincePrevious === null ? 20 : 50 },
    { lines: [triesLine(view.tries, columns)], weight: 55 },
    { lines: [lampsLine('this one', frame.lamps, frame.noted)], weight: 63 },
    ...(view.nextNoted.length === 0
      ? []
      : [{ lines: [lampsLine('next', view.nextLamps, view.nextNoted)], weight: 70 }]),
    ...(view.outlook === null ? [] : [{ lines: wrap(view.outlook, columns, '  ').slice(0, 2), weight: 58 }]),
    ...reading.warnings.map((warning, n) => ({
      lines: wrap(warning.message, columns, '  ').slice(0, 2),
      weight: n === 0 ? 35 : 15,
    })),
  ];
}

function waitingParts(view: WatchView, columns: number): Part[] {
  return [
    { lines: [headLine(view, null)], weight: 80 },
    { lines: ['', 'Waiting for a frame.'], weight: 90, first: true },
    { lines: [''], weight: 10 },
    { lines: [lampsLine('next', view.nextLamps, view.nextNoted)], weight: 60 },
    ...(view.tries.length === 0 ? [] : [{ lines: [triesLine(view.tries, columns)], weight: 55 }]),
    {
      lines: [
        '',
        ...wrap(
          'Learn the ground by daylight, headlamp on while walking, someone knows where you are. Weight the stand; no lamp into eyes, traffic or wildlife. Land rules and permits come first: some parks forbid light painting.',
          columns,
        ),
      ],
      weight: 40,
    },
    { lines: ['', 'Type a note and Enter (torch 2, back half, back 17m); help shows more.'], weight: 50 },
  ];
}

function headLine({ folder, isThere, reading: busy, waiting }: WatchView, reading: Reading | null): string {
  const state = !isThere
    ? 'the folder is gone; waiting for it'
    : busy !== null
      ? `reading ${printable(busy)}`
      : waiting > 0
        ? `${String(waiting)} on the way`
        : '';
  if (reading === null) return `watching ${printable(folder)}  ${state}`;
  const { iso, shutterSeconds, aperture, takenAt } = reading.settings;
  const settings = [
    iso === null ? 'ISO ?' : `ISO ${String(iso)}`,
    shutterSeconds === null ? '? s' : `${figure(shutterSeconds)} s`,
    aperture === null ? 'f/?' : `f/${figure(aperture)}`,
  ].join(' ');
  return `${printable(reading.file)}  ${takenAt?.slice(11, 16) ?? ''}  ${settings}  ${state}`;
}

/** The changes in large letters, as many as there is room for, the others under them. */
function bigParts(reading: Reading, columns: number, rows: number, { block }: Strokes): Part[] {
  const words = bigWords(reading).map((wordings) => ({
    plain: wordings[0]!,
    lines: blockLetters(wordings, columns, block),
  }));
  const room = Math.max(1, Math.floor((rows - 12) / (BLOCK_HEIGHT + 1)));
  const shown = words.filter(({ lines }) => lines !== null).slice(0, room);
  const letters = shown.flatMap(({ lines }, n): Part[] => [
    { lines: lines!, weight: 75 - n, first: true },
    // Two words that touch cannot be told apart from afar.
    { lines: [''], weight: n + 1 < shown.length ? 59 : 5 },
  ]);
  // Half a change is worse than none: what is not shown large stands under it.
  const others = words.filter((word) => !shown.includes(word)).map(({ plain }) => plain.toUpperCase());
  return others.length === 0
    ? letters
    : [...letters, { lines: wrap(`AND ${others.join(', ')}`, columns), weight: 89, first: true }];
}

function gaugeParts(reading: Reading, columns: number, strokes: Strokes): Part[] {
  const weights = [74, 60, 73, 62, 61];
  return gaugeLines(reading, columns, strokes).map((line, n) => ({ lines: [line], weight: weights[n]! }));
}

function walkLines({ changes, walks }: Option, lights: readonly Light[], columns: number): string[] {
  const isHeld = (name: string | undefined): boolean => lights.some((own) => own.name === name && own.kind === 'held');
  // A lamp in the hand is dimmed where one stands.
  const walked = changes.filter(
    ({ what, light }) => what === 'lampDistance' || (what === 'lampPower' && !isHeld(light)),
  );
  const lamps = [...new Set(walked.map(({ light }) => light))];
  const count = walks === 1 ? 'ONE WALK' : `${String(walks)} WALKS`;
  const where = lamps.map((lamp) => lamp ?? 'the lamp').join(', ');
  return wrap(
    `${count}: ${printable(where)}. Headlamp on, known ground, stand weighted; start the delay only from a safe spot.`,
    columns,
    '  ',
  ).slice(0, 2);
}

function foretoldLines({ reading, foretold, sincePrevious }: FrameShown, columns: number): string[] {
  const text =
    foretold === null
      ? (sincePrevious?.says ?? 'first of its setup')
      : `foretold sky ${signed(foretold.skyStops)} balance ${signed(foretold.balanceStops)}, came ${signed(reading.regions.sky.levelStops)} and ${signed(reading.balance.stops)}. ${sincePrevious?.says ?? ''}`;
  return wrap(text, columns, '  ').slice(0, 2);
}

/** The last tries: how far sky and balance were off. */
function triesLine(tries: readonly TryShown[], columns: number): string {
  const shown = tries.map(
    ({ file, skyMissStops, balanceMissStops, balanced, newSetup }) =>
      `${newSetup ? '| ' : ''}${shortName(file)} ${balanced ? 'good' : `${signed(skyMissStops)}/${signed(balanceMissStops)}`}`,
  );
  let line = '';
  for (const one of shown.reverse()) {
    const longer = line === '' ? one : `${one}  ${line}`;
    if (longer.length + 24 > columns) break;
    line = longer;
  }
  return `sky/balance off by:  ${line}`;
}

function lampsLine(title: string, lamps: readonly Light[], noted: readonly string[]): string {
  if (lamps.length === 0) return `${title}: no lamp noted`;
  return `${title}: ${lamps.map((lamp) => lampInWords(lamp, noted.includes(lamp.name))).join(', ')}`;
}

/** What does not fit is seen to be missing. */
function cut(text: string, columns: number): string {
  return text.length <= columns ? text : `${text.slice(0, columns - 2)}..`;
}

function shortName(file: string): string {
  const stem = file.replace(/\.[^.]*$/, '');
  return printable(stem.length > 9 ? stem.slice(-8) : stem);
}

function signed(value: number | null): string {
  return value === null ? '?' : `${value >= 0 ? '+' : ''}${value.toFixed(1)}`;
}

function figure(value: number): string {
  return String(Number(value.toPrecision(3)));
}

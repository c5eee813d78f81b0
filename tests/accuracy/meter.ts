import { FILE_KINDS } from '../../src/scene/encode.js';
import { seededRandom } from '../../src/math/random.js';
import { randomScene } from '../../src/scene/randomScene.js';
import { openScene } from '../../src/scene/shoot.js';
import { canBalance } from './canBalance.js';
import { figuresOf, isBalanced } from './summary.js';
import { tryScene, type Trial, type TrialKind } from './trial.js';

// node .accuracy/tests/accuracy/meter.js [first seed] [count] [kinds, comma separated] [noted|plain|both] [shots] [learned|classical]
const [first = '1000', count = '24', kinds = FILE_KINDS.join(','), notes = 'both', shots = '2', segmenter = 'learned'] =
  process.argv.slice(2);
const trials = new Map<string, Trial[]>();
const balanceable = new Set<number>();
for (let seed = Number(first); seed < Number(first) + Number(count); seed++) {
  const spec = randomScene(seed);
  const scene = openScene(spec);
  if (canBalance(scene)) balanceable.add(seed);
  const random = seededRandom(seed);
  const curve = { gainStops: random.between(0, 0.9), contrast: random.between(0.1, 0.6) };
  for (const file of kinds.split(',') as TrialKind[]) {
    for (const noted of notes === 'both' ? [true, false] : [notes === 'noted']) {
      const trial = await tryScene(
        spec,
        file,
        noted,
        curve,
        Number(shots),
        scene,
        segmenter as 'learned' | 'classical',
      );
      const key = `${file} ${noted ? 'lamps noted' : 'no notes'}`;
      trials.set(key, [...(trials.get(key) ?? []), trial]);
      console.log(line(trial));
    }
  }
}
for (const [key, list] of trials)
  console.log(
    `\n${key}\n${JSON.stringify(figuresOf(list), (_, value: unknown) => (typeof value === 'number' ? Number(value.toFixed(4)) : value))}\n${ofBalanceable(list)}`,
  );

/** Of the scenes that one factor on all lamps and a sky level in reach would balance: how many were, after each shot. */
function ofBalanceable(list: readonly Trial[]): string {
  const can = list.filter(({ seed }) => balanceable.has(seed));
  const done = Array.from(
    { length: Number(shots) },
    (_, n) => can.filter(({ after }) => after[n] !== undefined && isBalanced(after[n])).length,
  );
  return `${String(can.length)} can be balanced without a walk; balanced after each shot: ${done.join(', ')}`;
}

function line(trial: Trial): string {
  const n = (value: number | null, digits = 2): string => (value === null ? '-' : value.toFixed(digits));
  const tries = trial.after
    .map(
      (a) =>
        `${isBalanced(a) ? 'ok ' : 'NO '} ${n(a.sky)} ${n(a.balance)} (foretold ${n(a.predictedBalance === null ? null : a.predictedBalance - 1.5)}) ${n(a.clipped * 100)}% (${n(a.predictedClipped === null ? null : a.predictedClipped * 100)}%) ${a.summary}`,
    )
    .join(' | ');
  return `${String(trial.seed)} ${trial.kind.padEnd(6)} ${trial.file.padEnd(6)} ${trial.noted ? 'n' : '-'} iou ${n(trial.iou, 4)} sky ${n(trial.skyError)} paint ${n(trial.paintedError)} unlit ${n(trial.unlitError)} clip ${n(trial.clipError, 4)} spread ${n(trial.paintSpread, 1)} trail ${n(trial.trueTrail, 1)} ${n(trial.trailError)} ${trial.trueCause}>${trial.cause} ${balanceable.has(trial.seed) ? 'can' : 'cannot'} | ${tries}`;
}

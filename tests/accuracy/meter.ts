import { FILE_KINDS } from '../../src/scene/encode.js';
import { seededRandom } from '../../src/math/random.js';
import { randomScene } from '../../src/scene/randomScene.js';
import { openScene } from '../../src/scene/shoot.js';
import { figuresOf, isBalanced } from './summary.js';
import { tryScene, type Trial, type TrialKind } from './trial.js';

// node .accuracy/tests/accuracy/meter.js [first seed] [count] [kinds, comma separated] [noted|plain|both] [shots] [learned|classical]
const [first = '1000', count = '24', kinds = FILE_KINDS.join(','), notes = 'both', shots = '2', segmenter = 'learned'] =
  process.argv.slice(2);
const trials = new Map<string, Trial[]>();
for (let seed = Number(first); seed < Number(first) + Number(count); seed++) {
  const spec = randomScene(seed);
  const scene = openScene(spec);
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
    `\n${key}\n${JSON.stringify(figuresOf(list), (_, value: unknown) => (typeof value === 'number' ? Number(value.toFixed(4)) : value))}`,
  );

function line(trial: Trial): string {
  const n = (value: number | null, digits = 2): string => (value === null ? '-' : value.toFixed(digits));
  const tries = trial.after
    .map(
      (a) =>
        `${isBalanced(a) ? 'ok ' : 'NO '} ${n(a.sky)} ${n(a.balance)} (foretold ${n(a.predictedBalance === null ? null : a.predictedBalance - 1.5)}) ${n(a.clipped * 100)}% (${n(a.predictedClipped === null ? null : a.predictedClipped * 100)}%) ${a.summary}`,
    )
    .join(' | ');
  return `${String(trial.seed)} ${trial.kind.padEnd(6)} ${trial.file.padEnd(6)} ${trial.noted ? 'n' : '-'} iou ${n(trial.iou, 4)} sky ${n(trial.skyError)} paint ${n(trial.paintedError)} unlit ${n(trial.unlitError)} clip ${n(trial.clipError, 4)} spread ${n(trial.paintSpread, 1)} trail ${n(trial.trueTrail, 1)} ${n(trial.trailError)} ${trial.trueCause}>${trial.cause} | ${tries}`;
}

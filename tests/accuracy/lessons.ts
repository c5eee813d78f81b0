/** How often a fault put into a sound frame is the first or second lesson, and what is claimed besides. Run: see DEVELOPERS.md. */
import { quantile } from '../../src/math/statistics.js';
import { skyNetwork } from '../../src/machine/skyNetwork.js';
import type { LessonId } from '../../src/model/lesson.js';
import { DEFAULT_WISHES } from '../../src/model/wishes.js';
import { readOneFrame } from '../../src/pipeline/readOneFrame.js';
import { teachFrame } from '../../src/pipeline/teachFrame.js';
import { encodeShot, type FileKind } from '../../src/scene/encode.js';
import type { Shot } from '../../src/scene/shoot.js';
import { FAULTS, faultyScene } from '../support/faultyScenes.js';

export interface LessonScore {
  readonly id: LessonId;
  readonly place: number | null;
  readonly claimed: readonly LessonId[];
  /** Claims that the scene's truth denies. */
  readonly denied: readonly LessonId[];
}

export async function scoreLesson(id: LessonId, seed: number, kind: FileKind): Promise<LessonScore> {
  const { shot } = faultyScene(id, seed);
  const result = await readOneFrame(
    await encodeShot(shot, kind),
    'scene',
    { linear: kind === 'linear' },
    [],
    DEFAULT_WISHES,
    { network: skyNetwork },
  );
  const { findings } = teachFrame(result, [], DEFAULT_WISHES, null);
  const claimed = findings.map((finding) => finding.id);
  const at = claimed.indexOf(id);
  return { id, place: at < 0 ? null : at + 1, claimed, denied: claimed.filter((own) => denies(shot, own)) };
}

/** What the light of the scene says against a claim; levels with a quarter of a stop of grace. */
function denies({ spec, truth }: Shot, id: LessonId): boolean {
  const GRACE = 0.25;
  const level = (region: number): number | null => {
    const light: number[] = [];
    for (let i = 0; i < truth.mask.length; i += 7)
      if (truth.mask[i] === region)
        light.push(0.2126 * truth.clean[i * 3]! + 0.7152 * truth.clean[i * 3 + 1]! + 0.0722 * truth.clean[i * 3 + 2]!);
    return light.length < 30 ? null : Math.log2(quantile(light, 0.5));
  };
  const sky = level(0);
  const paint = level(170);
  const { skyTargetStops, balanceTargetStops, toleranceStops } = DEFAULT_WISHES;
  const skyMiss = sky === null ? 0 : sky - skyTargetStops;
  const paintMiss = sky === null || paint === null ? 0 : paint - sky - balanceTargetStops;
  switch (id) {
    case 'sky-low':
      return skyMiss > -toleranceStops + GRACE;
    case 'sky-high':
      return skyMiss < toleranceStops - GRACE;
    case 'paint-low':
      return paintMiss > -toleranceStops + GRACE;
    case 'paint-high':
      return paintMiss < toleranceStops - GRACE;
    case 'painted-clipped': {
      let [painted, clipped] = [0, 0];
      for (let i = 0; i < truth.mask.length; i++)
        if (truth.mask[i] === 170) {
          painted++;
          if (Math.max(truth.clean[i * 3]!, truth.clean[i * 3 + 1]!, truth.clean[i * 3 + 2]!) > 0.93) clipped++;
        }
      return clipped < 0.003 * painted;
    }
    case 'source-clipped':
      return !spec.headlamp && !spec.blade && !spec.lamps.some(({ visible }) => visible);
    case 'stars-shaken':
      return spec.shakePx === 0;
    case 'stars-defocused':
      return spec.defocusPx === 0;
    case 'stars-coma':
      return spec.comaPx < 2;
    case 'stars-trailed': {
      const trails = truth.stars.map(({ trailPx }) => trailPx);
      return trails.length < 8 || quantile(trails, 0.5) < 2;
    }
    case 'sky-clipped':
      return !spec.moon && spec.glow < 0.3 && skyMiss < 2;
    default:
      return false;
  }
}

if (process.argv[1]?.endsWith('lessons.js') === true) {
  const from = Number(process.argv[2] ?? 1);
  const count = Number(process.argv[3] ?? 4);
  const kinds = (process.argv[4] ?? 'srgb16,jpeg').split(',') as FileKind[];
  let [good, all, claims, denied] = [0, 0, 0, 0];
  for (const kind of kinds)
    for (const id of FAULTS) {
      const scores: LessonScore[] = [];
      for (let seed = from; seed < from + count; seed++) scores.push(await scoreLesson(id, seed, kind));
      good += scores.filter(({ place }) => place !== null && place <= 2).length;
      all += scores.length;
      claims += scores.reduce((sum, own) => sum + own.claimed.length, 0);
      denied += scores.reduce((sum, own) => sum + own.denied.length, 0);
      console.log(
        kind.padEnd(7),
        id.padEnd(16),
        scores
          .map(
            ({ place, claimed, denied: no }) =>
              `${String(place ?? '-')} [${claimed.slice(0, 3).join(' ')}]${no.length > 0 ? ` DENIED ${no.join(' ')}` : ''}`,
          )
          .join(' | '),
      );
    }
  console.log({ good, all, share: good / all, claims, denied });
}

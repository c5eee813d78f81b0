import type { Reading } from '../model/reading.js';
import { cautionsFor } from './cautions.js';
import type { PreviewWords } from './picture/previewPicture.js';

/** What is known of the lamps. */
interface LampsKnown {
  readonly apartFrom: number | null;
  readonly levels: readonly {
    readonly lamps: readonly string[];
    readonly levelStops: number;
    readonly clipsAlone: number;
  }[];
  readonly wouldTell: string | null;
}

/** What stands under a preview: how the frame is, what to change, what is foretold, and how sure that is. */
export function previewWords(reading: Reading, { apartFrom, levels, wouldTell }: LampsKnown): PreviewWords {
  const best = reading.advice.options[0];
  const { regions, balance } = reading;
  const next =
    best === undefined
      ? reading.advice.summary
      : `Foretold: ${best.says} ${levelsInWords(best.predicted.skyStops, best.predicted.balanceStops)}.`;
  return {
    now: `${reading.file}: ${levelsInWords(regions.sky.levelStops, balance.stops)}.`,
    next,
    below: [
      apartFrom === null
        ? 'From one frame: all lamps are changed alike. Hatched: will clip.'
        : `${wouldTell === null ? 'Each lamp by itself, told apart' : 'Light told apart, as far as it can be,'} from ${String(apartFrom)} frames. Hatched: will clip.`,
      ...lampsInWords({ apartFrom, levels, wouldTell }),
      ...cautionsFor(best),
    ],
  };
}

/** What is known of single lamps, a sentence each; none from one frame. */
export function lampsInWords({ levels, wouldTell }: LampsKnown): string[] {
  return [
    ...(levels.length === 0
      ? []
      : [`Now, over the land that each lights most: ${levels.map(lampInWords).join('; ')}.`]),
    ...(wouldTell === null ? [] : [wouldTell]),
  ];
}

function lampInWords({ lamps, levelStops, clipsAlone }: LampsKnown['levels'][number]): string {
  const clips = clipsAlone < 0.001 ? '' : `, alone clips ${String(Number((clipsAlone * 100).toPrecision(2)))} % of it`;
  return `${lamps.join(' with ')} ${signed(levelStops)} stops${clips}`;
}

function levelsInWords(sky: number | null, balance: number | null): string {
  return `sky ${sky === null ? 'not known' : signed(sky)}, balance ${balance === null ? 'not known' : signed(balance)}`;
}

function signed(value: number): string {
  return `${value >= 0 ? '+' : ''}${value.toFixed(1)}`;
}

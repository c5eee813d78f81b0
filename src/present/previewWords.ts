import type { Reading } from '../model/reading.js';
import { WALK_CAUTION } from './cautions.js';
import type { PreviewWords } from './picture/previewPicture.js';

/** What stands under a preview: how the frame is, what to change, what is foretold, and how sure that is. */
export function previewWords(reading: Reading, apartFrom: number | null, wouldTell: string | null): PreviewWords {
  const best = reading.advice.options[0];
  const { regions, balance } = reading;
  const next =
    best === undefined
      ? reading.advice.summary
      : `Foretold: ${best.says} Sky ${signed(best.predicted.skyStops)}, balance ${signed(best.predicted.balanceStops)}.`;
  return {
    now: `${reading.file}: sky ${signed(regions.sky.levelStops)}, balance ${signed(balance.stops)}.`,
    next,
    below: [
      apartFrom === null
        ? 'From one frame: all lamps are changed alike. Hatched: will clip.'
        : `${wouldTell === null ? 'Each lamp by itself, told apart' : 'Light told apart, as far as it can be,'} from ${String(apartFrom)} frames. Hatched: will clip.`,
      ...(wouldTell === null ? [] : [wouldTell]),
      ...(best !== undefined && best.walks > 0 ? [WALK_CAUTION] : []),
    ],
  };
}

function signed(value: number | null): string {
  return value === null ? '?' : `${value >= 0 ? '+' : ''}${value.toFixed(1)}`;
}

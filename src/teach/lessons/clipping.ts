import type { Clip, ClipCause } from '../../model/reading.js';
import { percent, round, type Case, type Lesson } from '../lesson.js';
import { advice, countTimes, distanceTimes, isoTimes, powerTimes, shutterTimes } from '../remedies.js';

function clipsOf({ reading }: Case, causes: readonly ClipCause[]): { share: number; largest: Clip | null } {
  const own = reading.clips.filter(({ cause }) => causes.includes(cause));
  return { share: own.reduce((sum, { share }) => sum + share, 0), largest: own[0] ?? null };
}

/** More of the paint than this clipped is seen (common practice, no source). */
const PAINT_ALLOWED = 0.005;

export const paintedClipped: Lesson = {
  id: 'painted-clipped',
  title: 'The painted ground is clipped',
  law: 'times too much = 2 ^ (stops over)',
  region: 'painted',
  sees: 'White without texture on the painted ground: {clippedPercent} % of it reached the end of what the file holds.',
  because:
    'A lamp gave these places more than the file can hold; probably about {overStops} stops more in their middle (an estimate: clipping hides it). What is clipped in a raw file cannot be brought back; of a JPEG the raw file may hold some.',
  arithmetic: '{timesTooMuch} = 2 ^ {overStops}',
  check:
    'On the camera: the histogram of each colour, not of brightness alone. In a JPEG a warm lamp runs out in red first, in a raw file often in green, while the grey histogram still has room.',
  source: 'ISO 12232 (saturation); common practice for half a percent of paint',
  limits: 'How far beyond clipping is carried on from the shoulder below it, and from a channel that still holds.',
  find: (of) => {
    const { regions, headroom } = of.reading;
    const { any, red, green, blue } = regions.painted.clipped;
    if (any <= PAINT_ALLOWED || headroom === null) return null;
    const overStops = round(headroom.clippedMedianOverStops, 1);
    const { largest } = clipsOf(of, ['painted-surface']);
    const oneChannel = Math.max(red, green, blue) > 2 * Math.min(red, green, blue) + 0.002;
    const first = red >= green && red >= blue ? 'red' : blue >= green ? 'blue' : 'green';
    return {
      gravity: Math.min(45, 10 + 7 * Math.log2(any / PAINT_ALLOWED)),
      overStops,
      box: largest?.box ?? null,
      numbers: { clippedPercent: percent(any), overStops, timesTooMuch: round(2 ** overStops, 1) },
      ...(oneChannel && {
        sees: `A patch without texture on the painted ground: {clippedPercent} % of it reached the end of what the file holds, ${first} before the other colours.`,
      }),
      remedies: [
        ...countTimes(of, 0.5, 'half as long'),
        ...powerTimes(of, 0.5, 'half'),
        ...distanceTimes(of, Math.SQRT2, '1.4 times'),
        advice('a diffuser over the lamp', 'about a stop less light, and softer edges'),
        ...isoTimes(of, 0.5),
      ],
    };
  },
};

/** A few burnt pixels may be a hot pixel or grain, a thin row of them a lit wire or post; in a grainy frame only a patch is a lamp. */
const LEAST_LAMP_PX = 8;
const ROUNDISH = 2;
const SURE_LAMP = 0.0002;
const LEAST_SIGNAL = 5;

export const sourceClipped: Lesson = {
  id: 'source-clipped',
  title: 'A lamp is seen directly',
  law: 'percent of the frame = 100 x area / frame',
  region: 'source',
  sees: 'A burnt spot with a glow: a lamp, a headlamp or a blade seen by the lens, {sharePercent} % of the frame.',
  because:
    'A lamp that lights the ground is many thousand times brighter than the ground: seen directly it always clips, at any setting that shows stars.',
  arithmetic: '{sharePercent} = 100 x {areaPx} / {framePx}',
  check: 'Crouch at the tripod and look past the lens: if you see the lamp itself, so does the camera.',
  source: 'common practice, no source',
  limits: 'A blade drawn on purpose is found as well: then it is the picture, not a fault.',
  find: (of) => {
    const { widthPx, heightPx } = of.reading.settings;
    const grainy = (of.reading.regions.sky.signalToNoise ?? 0) < LEAST_SIGNAL;
    const lamps = of.reading.clips.filter(({ cause, areaPx, box, share }) => {
      if (cause !== 'source') return false;
      const [long, short] = [Math.max(box.width, box.height), Math.min(box.width, box.height)];
      return share >= SURE_LAMP || (!grainy && areaPx >= LEAST_LAMP_PX && long <= ROUNDISH * short);
    });
    const largest = lamps[0];
    if (largest === undefined) return null;
    const framePx = widthPx * heightPx;
    const areaPx = lamps.reduce((sum, own) => sum + own.areaPx, 0);
    return {
      gravity: Math.max(5, Math.min(14, 5 + 2 * Math.log2(areaPx / framePx / SURE_LAMP))),
      overStops: null,
      box: largest.box,
      numbers: { sharePercent: percent(areaPx / framePx), areaPx, framePx },
      remedies: [
        advice('hide the lamp behind subject or ground, or flag it with a hood', 'a walk'),
        advice('headlamp off while the shutter is open, once you stand', 'stand still until it is on again'),
      ],
    };
  },
};

/** A little of the sky may burn in stars; more than this beside them is a patch. */
const SKY_ALLOWED = 0.002;

export const skyClipped: Lesson = {
  id: 'sky-clipped',
  title: 'The sky is clipped',
  law: 'percent of the frame = 100 x clipped part',
  region: 'sky',
  sees: 'A white patch in the sky: {clippedPercent} % of the frame.',
  because: 'Moon, town glow, twilight or cloud lit from below is brighter than the settings for a dark sky can hold.',
  arithmetic: '{clippedPercent} = 100 x {clippedPart}',
  check: 'Look at the frame on the camera with its clipping warning on: stars may blink, the sky between them may not.',
  source: 'ISO 12232 (saturation)',
  limits: 'Burnt stars are not counted: a sharp star clips at any useful setting.',
  find: (of) => {
    const { share, largest } = clipsOf(of, ['sky', 'horizon-glow', 'moon']);
    if (share < SKY_ALLOWED) return null;
    return {
      gravity: Math.min(40, 12 + 5 * Math.log2(share / SKY_ALLOWED)),
      overStops: null,
      box: largest?.box ?? null,
      numbers: { clippedPercent: percent(share), clippedPart: Number(share.toPrecision(2)) },
      remedies: [
        ...shutterTimes(of, 0.5),
        ...isoTimes(of, 0.5),
        advice('turn away from Moon or town, or wait until it is down', 'time'),
      ],
    };
  },
};

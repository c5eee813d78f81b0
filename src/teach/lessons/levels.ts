import { percent, round, type Case, type Lesson } from '../lesson.js';
import { advice, countTimes, distanceTimes, isoTimes, powerTimes, shutterTimes } from '../remedies.js';

/** Beyond the tolerance by this much a miss is a fault and not the measuring. */
const MARGIN_STOPS = 0.1;

/** Points of grading that a stop costs beyond the tolerance. */
const SKY_POINTS = 18;
const PAINT_POINTS = 20;

function skyMiss({ reading }: Case): number | null {
  const level = reading.regions.sky.levelStops;
  return level === null ? null : level - reading.balance.skyShownTargetStops;
}

function paintMiss({ reading }: Case): number | null {
  const { stops, targetStops } = reading.balance;
  return stops === null ? null : stops - targetStops;
}

function isFault(of: Case, miss: number | null): miss is number {
  return miss !== null && Math.abs(miss) > of.reading.balance.toleranceStops + MARGIN_STOPS;
}

function skyNumbers(of: Case, miss: number): Record<string, number> {
  const level = round(of.reading.regions.sky.levelStops!, 1);
  const target = round(of.reading.balance.skyShownTargetStops, 1);
  const missStops = round(level - target, 1);
  return {
    skyStops: level,
    targetStops: target,
    missStops,
    sizeStops: Math.abs(missStops),
    times: round(2 ** Math.abs(miss), 1),
    uncertaintyStops: round(of.reading.encoding.levelUncertaintyStops),
  };
}

const SKY_LAW = {
  region: 'sky',
  law: 'sky = log2(q x L x t x ISO / (78 x N ^ 2)); miss = sky - target',
  arithmetic: '{missStops} = {skyStops} - ({targetStops})',
  source: 'ISO 12232:2006: H = q L t / N^2, saturation at 78 / S',
  limits:
    'The target is a habit of the trade, not a law; a JPEG hides the sensor behind its curve, and the uncertainty says how far. Where its stars tell that the curve lifts the sky, the target is told as the file shows it.',
} as const;

export const skyLow: Lesson = {
  ...SKY_LAW,
  id: 'sky-low',
  title: 'The sky is too dark',
  sees: 'The sky lies {skyStops} stops from clipping, {sizeStops} under its target of {targetStops} (give or take {uncertaintyStops}): its faint parts are near the grain.',
  because:
    'The sky gives light in proportion to ISO x shutter / aperture squared, and to nothing else that you can change. It got {times} times too little.',
  check:
    'The hump of the sky in the histogram should stand clear of the left edge, about a fourth to a third of the way in. The screen looks bright at night and is no measure.',
  find: (of) => {
    const miss = skyMiss(of);
    if (!isFault(of, miss) || miss > 0) return null;
    const factor = Math.min(4, 2 ** Math.max(1, Math.round(-miss)));
    return {
      gravity: Math.min(45, SKY_POINTS * (-miss - of.reading.balance.toleranceStops) + 6),
      overStops: round(miss),
      numbers: skyNumbers(of, miss),
      remedies: [
        ...isoTimes(of, factor),
        ...shutterTimes(of, 1.6),
        advice('a wider opening of the lens', 'corners of the frame are drawn out more (coma)'),
      ],
    };
  },
};

export const skyHigh: Lesson = {
  ...SKY_LAW,
  id: 'sky-high',
  title: 'The sky is too bright',
  sees: 'The sky lies {skyStops} stops from clipping, {sizeStops} over its target of {targetStops} (give or take {uncertaintyStops}): it looks like day, and stars burn out in it.',
  because:
    'ISO x shutter / aperture squared gave it {times} times too much, or the sky itself is bright: Moon, twilight or a town. The lamps cannot mend that.',
  check:
    'Cover the lens hood side towards Moon or town with your hand and take another: if the sky stays, it is the sky.',
  find: (of) => {
    const miss = skyMiss(of);
    if (!isFault(of, miss) || miss < 0) return null;
    return {
      gravity: Math.min(45, SKY_POINTS * (miss - of.reading.balance.toleranceStops) + 6),
      overStops: round(miss),
      numbers: skyNumbers(of, miss),
      remedies: [
        ...isoTimes(of, miss > 1.5 ? 0.25 : 0.5),
        ...shutterTimes(of, 0.5),
        advice('wait for darkness, or turn away from the light', 'time'),
      ],
    };
  },
};

function paintNumbers(of: Case, miss: number): Record<string, number> {
  const { reading } = of;
  const skyStops = round(reading.regions.sky.levelStops!, 1);
  const paintStops = round(reading.regions.painted.levelStops!, 1);
  return {
    skyStops,
    paintStops,
    balanceStops: round(paintStops - skyStops, 1),
    targetStops: reading.balance.targetStops,
    sizeStops: round(Math.abs(miss), 1),
    underStops: round(Math.max(0, skyStops - paintStops), 1),
    times: round(2 ** Math.abs(miss), 1),
  };
}

const BALANCE_LAW = {
  region: 'painted',
  law: 'painted / sky = reflectance x I x cos(a) x t_paint / (pi x d ^ 2 x L_sky x t_shutter); balance = paint - sky',
  arithmetic: '{balanceStops} = {paintStops} - ({skyStops})',
  source:
    'Lambert and the inverse square: painted / sky = reflectance x intensity x cos(incidence) x paint time / (pi x distance^2 x sky x shutter)',
  limits: 'Small lamps, beyond five times their size; a dull surface. The target is a habit of the trade.',
} as const;

const NOT_BY_ISO =
  'ISO and aperture move paint and sky together and leave their balance as it is; only paint time, power, distance and shutter move it.';

export const paintLow: Lesson = {
  ...BALANCE_LAW,
  id: 'paint-low',
  title: 'The painted ground is too dark for its sky',
  sees: 'The painted ground lies {balanceStops} stops over the sky, {sizeStops} less than the {targetStops} that are wished.',
  because: `The lamps gave it {times} times too little for this sky. ${NOT_BY_ISO}`,
  check: 'Take one frame with the count doubled and nothing else changed: that is a stop, to compare by.',
  find: (of) => {
    const miss = paintMiss(of);
    if (!isFault(of, miss) || miss > 0) return null;
    return {
      gravity: Math.min(45, PAINT_POINTS * (-miss - of.reading.balance.toleranceStops) + 6),
      overStops: round(miss),
      numbers: paintNumbers(of, miss),
      ...(of.reading.balance.stops! < 0 && {
        sees: 'The painted ground lies {underStops} stops under the sky, {sizeStops} less than the {targetStops} over it that are wished.',
      }),
      remedies: [
        ...countTimes(of, 2, 'twice as long'),
        ...powerTimes(of, 2, 'twice'),
        ...distanceTimes(of, Math.SQRT1_2, 'two thirds of'),
        advice('a stronger lamp, or its diffuser off', 'harder edges'),
      ],
    };
  },
};

export const paintHigh: Lesson = {
  ...BALANCE_LAW,
  id: 'paint-high',
  title: 'The painted ground is too bright for its sky',
  sees: 'The painted ground lies {balanceStops} stops over the sky, {sizeStops} more than the {targetStops} that are wished: it looks lit by a floodlight.',
  because: `The lamps gave it {times} times too much for this sky. ${NOT_BY_ISO}`,
  check: 'Take one frame with the torch off: what is still bright is the stand lamp or the Moon.',
  find: (of) => {
    const miss = paintMiss(of);
    if (!isFault(of, miss) || miss < 0) return null;
    return {
      gravity: Math.min(45, PAINT_POINTS * (miss - of.reading.balance.toleranceStops) + 6),
      overStops: round(miss),
      numbers: paintNumbers(of, miss),
      remedies: [
        ...countTimes(of, 0.5, 'half as long'),
        ...powerTimes(of, 0.5, 'half'),
        ...distanceTimes(of, Math.SQRT2, '1.4 times'),
        advice('a diffuser, or the light bounced off a jacket', 'about a stop or two less'),
      ],
    };
  },
};

/** Paint that spans more than this is seen to be uneven (common practice, no source). */
const UNEVEN_STOPS = 3;

export const paintUneven: Lesson = {
  id: 'paint-uneven',
  title: 'The paint is uneven',
  law: 'E = I x cos(a) / d ^ 2; far / near = 2 ^ (stops / 2)',
  region: 'painted',
  sees: 'The painted ground spans {rangeStops} stops from its dim to its bright parts; its hottest place lies {hotStops} over its middle.',
  because:
    'Light falls with the square of the distance: ground {distanceRatio} times as far from the lamp gets {rangeStops} stops less. Dimming the lamp does not even it out; distance, height and movement do.',
  arithmetic: '{distanceRatio} = 2 ^ ({rangeStops} / 2)',
  check: 'Walk the beam on and watch the near ground: what dazzles you will burn.',
  source: 'inverse square law',
  limits: 'The span also holds what the ground itself reflects, wet and dry, light and dark.',
  find: (of) => {
    const { falloff } = of.reading;
    if (falloff === null || falloff.rangeStops < UNEVEN_STOPS) return null;
    const rangeStops = round(falloff.rangeStops, 1);
    return {
      gravity: Math.min(16, 4 + 6 * (falloff.rangeStops - UNEVEN_STOPS)),
      overStops: round(falloff.rangeStops - UNEVEN_STOPS),
      box: { ...falloff.hotSpot, width: 1, height: 1 },
      numbers: {
        rangeStops,
        hotStops: round(falloff.hotSpotOverMedianStops, 1),
        distanceRatio: round(2 ** (rangeStops / 2), 2),
      },
      remedies: [
        ...distanceTimes(of, 2, 'twice'),
        advice('raise the lamp, or aim over the near ground', 'less light on the near ground only'),
        advice('paint from two places, half the count each', 'a walk within the exposure'),
      ],
    };
  },
};

/** More unlit ground than this without any detail is a black hole in the picture (common practice, no source). */
const CRUSHED = 0.3;

export const groundCrushed: Lesson = {
  id: 'ground-crushed',
  title: 'The unlit ground is black',
  law: 'percent = 100 x part without light',
  region: 'unlit',
  sees: '{crushedPercent} % of the ground that no lamp reached holds nothing: black in every colour.',
  because:
    'It got less light than the file can tell from none. In a JPEG the camera has also pressed it down; the raw file may hold some more.',
  arithmetic: '{crushedPercent} = 100 x {crushedPart}',
  check: 'The left edge of the histogram: a wall there is ground without detail.',
  source: 'photon transfer: under the read noise there is no picture',
  limits: 'A black ridge against the sky can be what you want.',
  find: ({ reading }) => {
    const { crushedFraction, areaFraction } = reading.regions.unlit;
    if (areaFraction < 0.03 || crushedFraction < CRUSHED) return null;
    return {
      gravity: Math.min(12, 3 + 12 * (crushedFraction - CRUSHED) * Math.min(1, areaFraction * 4)),
      overStops: null,
      numbers: { crushedPercent: percent(crushedFraction), crushedPart: Number(crushedFraction.toPrecision(2)) },
      remedies: [
        advice('a second, weak sweep over the unlit ground from the other side', 'a walk, and a count to keep'),
        advice("a longer shutter or a wider opening for the sky's own light", 'longer stars, or softer corners'),
      ],
    };
  },
};

/** Signal over noise of a single pixel under which grain is seen (common practice, no source). */
const CALM = 5;

export const noiseHigh: Lesson = {
  id: 'noise-high',
  title: 'The sky is grainy',
  law: 'signal / noise = sqrt(light); light wanted = (calm / now) ^ 2',
  region: 'sky',
  sees: 'Grain in the sky: its light is {signalToNoise} times its noise in a single pixel, and {calm} and more looks calm.',
  because:
    'Grain comes from little light, not from ISO: noise is the root of the light. {lightTimes} times the light would bring it to {calm}. ISO only makes it visible.',
  arithmetic: '{lightTimes} = ({calm} / {signalToNoise}) ^ 2',
  check: 'Look at the sky between the stars at full size, not at the whole frame.',
  source: 'photon transfer (EMVA 1288): shot noise is the root of the light; from memory',
  limits: 'Noise reduction of a JPEG hides grain and fine stars together.',
  find: (of) => {
    const signal = of.reading.regions.sky.signalToNoise;
    if (signal === null || signal >= CALM || signal <= 0) return null;
    const signalToNoise = round(signal, 1);
    return {
      gravity: Math.min(14, 3 + 6 * Math.log2(CALM / Math.max(0.2, signal))),
      overStops: null,
      numbers: { signalToNoise, calm: CALM, lightTimes: round((CALM / Math.max(0.1, signalToNoise)) ** 2, 1) },
      remedies: [
        ...shutterTimes(of, 1.6),
        advice('a wider opening of the lens', 'corners are drawn out more'),
        advice('a darker night, or the core higher', 'time'),
      ],
    };
  },
};

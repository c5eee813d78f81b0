import type { Facts } from './facts.js';
import { flatteningOf, PaintForecaster } from './forecast.js';
import type { Flattening } from './lamps.js';
import { layeredForecaster, type LayeredForecaster } from './layered.js';

/** Paint after a change of camera and lamps. */
export interface Forecaster {
  /** `through` multiplies ambient light; `gains` are those of the lamps, the camera's part in them; `times` their distances. */
  after(through: number, gains: readonly number[], times?: readonly number[]): Outcome | null;
}

interface Outcome {
  readonly stops: number;
  /** Painted area over that of now. */
  readonly areaRatio: number;
  /** What the brightest part of the paint is multiplied by, stops. */
  readonly highlightStops: number;
}

/** Which lamp lights the middle of the paint and which its brightest part, by their places in `facts.lights`. */
export interface Whose {
  readonly middle: number;
  readonly brightest: number;
}

/** One way that the light may be the lamps', and how likely that is. */
export interface Belief {
  readonly weight: number;
  /** Null: each lamp's own light is known, or all are equal parts of the paint. */
  readonly whose: Whose | null;
  readonly forecast: Forecaster;
}

/** How likely several lamps are equal parts of the paint; the rest is shared by the ways in which they are not (common practice, no source). */
const ALIKE = 0.6;
/** Of more lamps nobody guesses whose light is where: the ways grow as the square of their number. */
export const MOST_GUESSED = 3;
/** A hand's light is aimed at what is to be seen; a lamp on a stand lights the ground under it best. */
const HELD_IN_THE_MIDDLE = 2;

/**
 * From each lamp's own light where it is known. Else one frame does not tell whose light is where: the lamps may be equal parts of the paint, or
 * one may light most of it and another its brightest part.
 */
export function beliefsOf(facts: Facts): readonly Belief[] {
  const layered = layeredForecaster(facts);
  if (layered !== null) return [{ weight: 1, whose: null, forecast: new Apart(layered) }];
  const paint = new PaintForecaster(facts);
  const flattening = flatteningFor(facts);
  const alike = new Mixed(paint, flattening, null);
  const { lights } = facts;
  if (lights.length < 2 || lights.length > MOST_GUESSED) return [{ weight: 1, whose: null, forecast: alike }];
  const pairs = lights.flatMap(({ kind }, middle) =>
    lights.flatMap((_, brightest) =>
      brightest === middle ? [] : [{ middle, brightest, odds: kind === 'held' ? HELD_IN_THE_MIDDLE : 1 }],
    ),
  );
  const all = pairs.reduce((sum, { odds }) => sum + odds, 0);
  return [
    { weight: ALIKE, whose: null, forecast: alike },
    ...pairs.map(({ middle, brightest, odds }) => {
      const whose = { middle, brightest };
      return { weight: ((1 - ALIKE) * odds) / all, whose, forecast: new Mixed(paint, flattening, whose) };
    }),
  ];
}

class Apart implements Forecaster {
  constructor(private readonly layered: LayeredForecaster) {}

  after(through: number, gains: readonly number[]): Outcome {
    return this.layered(through, gains);
  }
}

class Mixed implements Forecaster {
  constructor(
    private readonly paint: PaintForecaster,
    private readonly flattening: Flattening,
    private readonly whose: Whose | null,
  ) {}

  after(through: number, gains: readonly number[], times: readonly number[] = []): Outcome | null {
    const middleOf = (n: number): number => gains[n]! * 2 ** this.flattening(times[n] ?? 1);
    let gain = gains.length === 0 ? through : 0;
    let middle = gain;
    if (this.whose !== null && gains.length > 0) {
      gain = gains[this.whose.brightest]!;
      middle = middleOf(this.whose.middle);
    } else
      for (let n = 0; n < gains.length; n++) {
        gain += gains[n]! / gains.length;
        middle += middleOf(n) / gains.length;
      }
    const paint = this.paint.after(through, middle);
    return paint === null ? null : { ...paint, highlightStops: Math.log2(gain) };
  }
}

/** With each lamp's own light known cell by cell, a lamp that is moved counts as one factor on it. */
export function flatteningFor(facts: Facts): Flattening {
  return facts.lampLayers === null ? flatteningOf(facts.headroom) : noFlattening;
}

export const noFlattening: Flattening = () => 0;

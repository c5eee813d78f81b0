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

/** From each lamp's own light where it is known, else with the lamps as equal parts of the paint. */
export function forecasterOf(facts: Facts): Forecaster {
  const layered = layeredForecaster(facts);
  return layered === null ? new Mixed(facts) : new Apart(layered);
}

class Apart implements Forecaster {
  constructor(private readonly layered: LayeredForecaster) {}

  after(through: number, gains: readonly number[]): Outcome {
    return this.layered(through, gains);
  }
}

class Mixed implements Forecaster {
  readonly #paint: PaintForecaster;
  readonly #flattening: Flattening;

  constructor(facts: Facts) {
    this.#paint = new PaintForecaster(facts);
    this.#flattening = flatteningFor(facts);
  }

  after(through: number, gains: readonly number[], times: readonly number[] = []): Outcome | null {
    let gain = gains.length === 0 ? through : 0;
    let middle = gain;
    for (let n = 0; n < gains.length; n++) {
      gain += gains[n]! / gains.length;
      middle += (gains[n]! * 2 ** this.#flattening(times[n] ?? 1)) / gains.length;
    }
    const paint = this.#paint.after(through, middle);
    return paint === null ? null : { ...paint, highlightStops: Math.log2(gain) };
  }
}

/** With each lamp's own light known cell by cell, a lamp that is moved counts as one factor on it. */
export function flatteningFor(facts: Facts): Flattening {
  return facts.lampLayers === null ? flatteningOf(facts.headroom) : noFlattening;
}

export const noFlattening: Flattening = () => 0;

import { quantile } from '../math/statistics.js';
import type { Facts } from './facts.js';

interface LayeredForecast {
  readonly stops: number;
  /** Painted area after the change over that of now. */
  readonly areaRatio: number;
  /** What the brightest part of the paint is multiplied by, stops. */
  readonly highlightStops: number;
}

/** `through` multiplies ambient light; `gains` are those of `facts.lights`, the camera's part in them. */
export type LayeredForecaster = (through: number, gains: readonly number[]) => LayeredForecast;

/** Highlights are the brightest tenth of the paint. */
const HIGHLIGHTS = 0.9;
const LEAST_CELLS = 60;

/** Foretells paint from each lamp's own light, so that one lamp can be changed alone. Null where lamps were not told apart. */
export function layeredForecaster(facts: Facts): LayeredForecaster | null {
  const { lampLayers: layers, lights, paintedStops } = facts;
  if (layers === null || paintedStops === null) return null;
  const lampsOf = layers.lamps.map((names) => names.map((name) => lights.findIndex((own) => own.name === name)));
  if (lampsOf.some((own) => own.includes(-1))) return null;
  const cells = layers.light[0]!.length;
  const lit = (
    through: number,
    gains: readonly number[],
  ): { all: Float32Array; painted: Uint8Array; count: number } => {
    const all = new Float32Array(cells);
    const painted = new Uint8Array(cells);
    const factors = lampsOf.map((own) =>
      own.length === 0 ? through : own.reduce((sum, n) => sum + gains[n]!, 0) / own.length,
    );
    let count = 0;
    for (let i = 0; i < cells; i++) {
      let lamp = 0;
      for (let k = 1; k < factors.length; k++) lamp += factors[k]! * layers.light[k]![i]!;
      const ambient = through * layers.light[0]![i]!;
      all[i] = lamp + ambient;
      if (lamp > ambient) {
        painted[i] = 1;
        count++;
      }
    }
    return { all, painted, count };
  };
  const ones = lights.map(() => 1);
  const now = lit(1, ones);
  if (now.count < LEAST_CELLS) return null;
  const middle = (light: Float32Array, painted: Uint8Array): number =>
    Math.log2(
      Math.max(
        1e-9,
        quantile(
          light.filter((_, i) => painted[i] === 1),
          0.5,
        ),
      ),
    );
  const before = middle(now.all, now.painted);
  const bright = quantile(
    now.all.filter((_, i) => now.painted[i] === 1),
    HIGHLIGHTS,
  );
  return (through, gains) => {
    const then = lit(through, gains);
    let [sum, count] = [0, 0];
    for (let i = 0; i < cells; i++)
      if (now.painted[i] === 1 && now.all[i]! >= bright) {
        sum += Math.log2(Math.max(1e-9, then.all[i]!) / Math.max(1e-9, now.all[i]!));
        count++;
      }
    // Half of the foretold change of painted area is believed: layers are rough where light is little.
    const same = middle(then.all, now.painted);
    const median = then.count < LEAST_CELLS / 4 ? same : (same + middle(then.all, then.painted)) / 2;
    return {
      stops: paintedStops + median - before,
      areaRatio: Math.sqrt(then.count / now.count),
      highlightStops: count === 0 ? 0 : sum / count,
    };
  };
}

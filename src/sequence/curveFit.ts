import { betweenKnots } from '../calibration/curveKnots.js';
import { CERTAINTY, CURVE_KNOTS as KNOTS, LIKELY_OVER } from '../calibration/data/displayCurves.js';
import { solveSystem } from '../math/leastSquares.js';
import { quantile } from '../math/statistics.js';
import type { CurveHint } from '../model/curveHint.js';
import type { Crossing, PairRow } from './tonePairs.js';

/** What is noted of the paint of a pair, and one standard deviation of that, stops. */
export interface Noted {
  readonly stops: number;
  readonly spread: number;
}

export interface Answer {
  readonly over: (display: number) => number;
  /** Typical residual of the code values, and of the anchors, stops; weighted sum of the former's squares, where the far ones have lost their weight. */
  readonly unrest: number;
  readonly anchorUnrest: number;
  readonly misfit: number;
  /** Distance from the middle of cameras' curves: the square, in units of their spread (Mahalanobis). */
  readonly unlikely: number;
}

/** A Gaussian's share of the normal equations: its certainty, and its certainty times its mean. */
function addLikely(gram: Float64Array, right: Float64Array, size: number): void {
  for (const [i, row] of CERTAINTY.entries())
    for (const [j, certainty] of row.entries()) {
      gram[i * size + j]! += certainty;
      right[i]! += certainty * LIKELY_OVER[j]!;
    }
}

function unlikeness(x: readonly number[]): number {
  const apart = LIKELY_OVER.map((mean, i) => x[i]! - mean);
  return CERTAINTY.reduce(
    (sum, row, i) => sum + row.reduce((own, certainty, j) => own + certainty * apart[i]! * apart[j]!, 0),
    0,
  );
}

const ROUNDS = 6;
const SMOOTH = 30;
const TOWARDS_SRGB = 0.3;
const IS_SRGB = 1e6;
/** Residuals beyond this lose their weight. */
const FAR_STOPS = 0.12;
const ANCHOR = 3000;
/** What is noted of the paint, or told by stars. */
const TOLD = 20;

/**
 * Robust least squares: residuals beyond an eighth of a stop lose their weight. The unknowns are the knots, then each pair's paint. The curve is
 * held smooth and near sRGB, or by what cameras' have in common and what the tries' stars tell (errors of which are partly the same in each), or
 * is sRGB. Null where the system has no single answer.
 */
export function solved(
  rows: readonly PairRow[],
  tops: readonly Crossing[],
  noted: readonly Noted[],
  held: 'smooth' | 'as cameras' | 'sRGB',
  hints: readonly CurveHint[] = [],
): Answer | null {
  const size = KNOTS.length + noted.length;
  let x: number[] = [...KNOTS.map(() => 0), ...noted.map(({ stops }) => stops)];
  const grownBy = ({ painted, pair, through }: PairRow | Crossing): number =>
    painted ? x[KNOTS.length + pair]! : through;
  const at = (display: number): number => betweenKnots(display).reduce((sum, [knot, part]) => sum + part * x[knot]!, 0);
  const missOfRow = (row: PairRow): number => row.bright + at(row.bright) - row.dark - at(row.dark) - grownBy(row);
  const missOfTop = (top: Crossing): number => top.at + at(top.at) + grownBy(top) - top.white;
  for (let round = 0; round < ROUNDS; round++) {
    const gram = new Float64Array(size * size);
    const right = new Float64Array(size);
    const add = (terms: readonly (readonly [number, number])[], value: number, weight: number): void => {
      for (const [i, u] of terms) {
        right[i]! += weight * u * value;
        for (const [j, v] of terms) gram[i * size + j]! += weight * u * v;
      }
    };
    for (const row of rows) {
      const terms = [
        ...betweenKnots(row.bright),
        ...betweenKnots(row.dark).map(([knot, part]) => [knot, -part] as const),
      ];
      const value = row.dark - row.bright + (row.painted ? 0 : row.through);
      const weight = row.weight / (1 + (missOfRow(row) / FAR_STOPS) ** 2);
      add(row.painted ? [...terms, [KNOTS.length + row.pair, -1]] : terms, value, weight);
    }
    for (const top of tops) {
      const value = top.white - top.at - (top.painted ? 0 : top.through);
      const terms = betweenKnots(top.at);
      add(top.painted ? [...terms, [KNOTS.length + top.pair, 1]] : terms, value, ANCHOR * top.weight);
    }
    noted.forEach(({ stops, spread }, n) => {
      add([[KNOTS.length + n, 1]], stops, TOLD / spread ** 2);
    });
    if (held === 'as cameras') {
      addLikely(gram, right, size);
      for (const { parts, value, spread } of hints)
        add([...parts.entries()], value, TOLD / (spread ** 2 * Math.sqrt(hints.length)));
    } else {
      for (let i = 1; i < KNOTS.length - 1; i++) {
        const [left, after] = [KNOTS[i]! - KNOTS[i - 1]!, KNOTS[i + 1]! - KNOTS[i]!];
        const bend = [
          [i - 1, 1 / left],
          [i, -1 / left - 1 / after],
          [i + 1, 1 / after],
        ] as const;
        add(bend, 0, SMOOTH * Math.min(left, after));
      }
      KNOTS.forEach((_, i) => {
        add([[i, 1]], 0, held === 'sRGB' ? IS_SRGB : TOWARDS_SRGB);
      });
    }
    const next = solveSystem(gram, right);
    if (next === null) return null;
    x = next;
  }
  return {
    over: at,
    unrest: quantile(
      rows.map((row) => Math.abs(missOfRow(row))),
      0.68,
    ),
    misfit: rows.reduce((sum, row) => sum + row.weight / (1 / missOfRow(row) ** 2 + 1 / FAR_STOPS ** 2), 0),
    unlikely: unlikeness(x),
    anchorUnrest: Math.max(0, ...tops.map((top) => Math.abs(missOfTop(top)))),
  };
}

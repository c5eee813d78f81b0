/** A move of one plane over another, cells; `value` is its correlation to the whole cell, `gain` how much more that is than without a move. */
export interface BestShift {
  readonly dx: number;
  readonly dy: number;
  readonly value: number;
  readonly gain: number;
}

/** A move must correlate by this much more than none to be taken. */
const MORE = 1e-6;

/**
 * The move of at most `reach` cells either way with the largest correlation, to a part of a cell by a parabola through it and its neighbours.
 * `correlation` is asked once for each whole move, up to one beyond `reach`.
 */
export function bestShift(correlation: (dx: number, dy: number) => number, reach: number): BestShift {
  const side = 2 * reach + 3;
  const known = new Float64Array(side * side).fill(Number.NaN);
  const score = (dx: number, dy: number): number => {
    const at = (dy + reach + 1) * side + dx + reach + 1;
    if (Number.isNaN(known[at]!)) known[at] = correlation(dx, dy);
    return known[at]!;
  };
  const still = score(0, 0);
  let best = { dx: 0, dy: 0, value: still };
  for (let dy = -reach; dy <= reach; dy++)
    for (let dx = -reach; dx <= reach; dx++) {
      const value = score(dx, dy);
      if (value > best.value + MORE) best = { dx, dy, value };
    }
  const { dx, dy, value } = best;
  const part = (minus: number, plus: number): number => {
    const bend = minus - 2 * value + plus;
    return bend >= -MORE ? 0 : Math.max(-0.5, Math.min(0.5, (0.5 * (minus - plus)) / bend));
  };
  return {
    dx: dx + part(score(dx - 1, dy), score(dx + 1, dy)),
    dy: dy + part(score(dx, dy - 1), score(dx, dy + 1)),
    value,
    gain: value - still,
  };
}

/** Scalar product of two lists of one length. */
export function dot(a: readonly number[], b: readonly number[]): number {
  return a.reduce((sum, value, n) => sum + value * b[n]!, 0);
}

/** Solves the symmetric system `a x = b` (row-major n x n) by Gauss with pivots; null when it has no single answer. */
export function solveSystem(a: ArrayLike<number>, b: ArrayLike<number>): number[] | null {
  const n = b.length;
  const rows = Array.from({ length: n }, (_, i) => [...Array.from({ length: n }, (_, j) => a[i * n + j]!), b[i]!]);
  for (let i = 0; i < n; i++) {
    let pivot = i;
    for (let k = i + 1; k < n; k++) if (Math.abs(rows[k]![i]!) > Math.abs(rows[pivot]![i]!)) pivot = k;
    [rows[i], rows[pivot]] = [rows[pivot]!, rows[i]!];
    const head = rows[i]![i]!;
    if (Math.abs(head) < 1e-12) return null;
    for (let k = i + 1; k < n; k++) {
      const times = rows[k]![i]! / head;
      for (let j = i; j <= n; j++) rows[k]![j]! -= times * rows[i]![j]!;
    }
  }
  const x = new Array<number>(n).fill(0);
  for (let i = n - 1; i >= 0; i--) {
    let rest = rows[i]![n]!;
    for (let j = i + 1; j < n; j++) rest -= rows[i]![j]! * x[j]!;
    x[i] = rest / rows[i]![i]!;
  }
  return x;
}

/**
 * Least squares with answers of zero or more: minimises the weighted sum of squares of `design x - values`, trying every set of unknowns that
 * may be above zero (exact; for a handful of unknowns). `design` has a row for each value.
 */
export function nonNegative(
  design: readonly (readonly number[])[],
  values: readonly number[],
  weights: readonly number[],
): number[] {
  const unknowns = design[0]?.length ?? 0;
  const gram = (j: number, k: number): number =>
    design.reduce((sum, row, n) => sum + weights[n]! * row[j]! * row[k]!, 0);
  const full = Array.from({ length: unknowns }, (_, j) => Array.from({ length: unknowns }, (_, k) => gram(j, k)));
  const right = Array.from({ length: unknowns }, (_, j) =>
    design.reduce((sum, row, n) => sum + weights[n]! * row[j]! * values[n]!, 0),
  );
  let best = { x: new Array<number>(unknowns).fill(0), gain: 0 };
  for (let set = 1; set < 1 << unknowns; set++) {
    const own = Array.from({ length: unknowns }, (_, k) => k).filter((k) => (set >> k) & 1);
    const x = solveSystem(
      own.flatMap((j) => own.map((k) => full[j]![k]!)),
      own.map((j) => right[j]!),
    );
    if (x?.every((value) => value >= 0) !== true) continue;
    // What this set takes off the sum of squares: x . right.
    const gain = x.reduce((sum, value, n) => sum + value * right[own[n]!]!, 0);
    if (gain <= best.gain * (1 + 1e-13)) continue;
    const all = new Array<number>(unknowns).fill(0);
    own.forEach((k, n) => (all[k] = x[n]!));
    best = { x: all, gain };
  }
  return best.x;
}

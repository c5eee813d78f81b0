/** The value below which the fraction `p` (0 to 1) of `values` lies (linear between ranks); NaN on an empty list. */
export function quantile(values: ArrayLike<number>, p: number): number {
  if (values.length === 0) return Number.NaN;
  const work = new Float64Array(values);
  const rank = p * (work.length - 1);
  const low = Math.floor(rank);
  const atLow = select(work, low);
  if (low === rank) return atLow;
  // What lies behind place `low` is now no smaller: the next rank is the smallest of it.
  let next = Number.POSITIVE_INFINITY;
  for (let i = low + 1; i < work.length; i++) if (work[i]! < next) next = work[i]!;
  return atLow + (next - atLow) * (rank - low);
}

/** Quickselect (C. A. R. Hoare, 1961): puts the value of rank `k` in its place, smaller ones before it, and returns it. */
function select(work: Float64Array, k: number): number {
  let left = 0;
  let right = work.length - 1;
  while (left < right) {
    const pivot = work[(left + right) >> 1]!;
    let i = left;
    let j = right;
    while (i <= j) {
      while (work[i]! < pivot) i++;
      while (work[j]! > pivot) j--;
      if (i > j) break;
      const swap = work[i]!;
      work[i++] = work[j]!;
      work[j--] = swap;
    }
    if (k <= j) right = j;
    else if (k >= i) left = i;
    else break;
  }
  return work[k]!;
}

export function median(values: ArrayLike<number>): number {
  return quantile(values, 0.5);
}

/** 1.4826 x the median absolute deviation: the standard deviation of a normal sample, deaf to outliers. */
export function robustSpread(values: ArrayLike<number>): number {
  const middle = median(values);
  const apart = new Float64Array(values);
  for (let i = 0; i < apart.length; i++) apart[i] = Math.abs(apart[i]! - middle);
  return 1.4826 * median(apart);
}

/** Counts by bin, and quantiles read from them. */
export class Histogram {
  readonly counts: Uint32Array;
  total = 0;

  constructor(bins: number) {
    this.counts = new Uint32Array(bins);
  }

  add(bin: number, weight = 1): void {
    this.counts[bin]! += weight;
    this.total += weight;
  }

  addAll(other: Histogram): void {
    for (let bin = 0; bin < this.counts.length; bin++) this.counts[bin]! += other.counts[bin]!;
    this.total += other.total;
  }

  /** Fractional bin index of quantile `p`; null when nothing was counted. */
  quantileBin(p: number): number | null {
    if (this.total === 0) return null;
    const wanted = p * this.total;
    let below = 0;
    for (let bin = 0; bin < this.counts.length; bin++) {
      const count = this.counts[bin]!;
      if (count > 0 && below + count >= wanted) return bin + Math.max(0, Math.min(1, (wanted - below) / count)) - 0.5;
      below += count;
    }
    return this.counts.length - 1;
  }
}

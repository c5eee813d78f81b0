/** The value below which the fraction `p` (0 to 1) of `values` lies (linear between ranks); NaN on an empty list. */
export function quantile(values: ArrayLike<number>, p: number): number {
  if (values.length === 0) return Number.NaN;
  const sorted = Float64Array.from(values).sort();
  const rank = p * (sorted.length - 1);
  const low = Math.floor(rank);
  const high = Math.min(sorted.length - 1, low + 1);
  return sorted[low]! + (sorted[high]! - sorted[low]!) * (rank - low);
}

export function median(values: ArrayLike<number>): number {
  return quantile(values, 0.5);
}

/** 1.4826 x the median absolute deviation: the standard deviation of a normal sample, deaf to outliers. */
export function robustSpread(values: ArrayLike<number>): number {
  const middle = median(values);
  return 1.4826 * median(Float64Array.from(values, (value) => Math.abs(value - middle)));
}

/** Counts by bin, and quantiles read from them. */
export class Histogram {
  readonly counts: Uint32Array;
  total = 0;

  constructor(bins: number) {
    this.counts = new Uint32Array(bins);
  }

  add(bin: number): void {
    this.counts[bin]!++;
    this.total++;
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

import type { Trial } from './trial.js';

function quantileOf(values: readonly number[], p: number): number {
  const sorted = values.filter((value) => Number.isFinite(value)).sort((a, b) => a - b);
  if (sorted.length === 0) return Number.NaN;
  return sorted[Math.min(sorted.length - 1, Math.floor(p * sorted.length))]!;
}

/** Balanced: sky and balance inside 0.35 stop (or as near as the limits allow), at most 0.5 % of the paint clipped. */
export function isBalanced(after: Trial['after'][number]): boolean {
  const sky = Math.abs(after.sky) <= 0.35 || (after.sky < 0 && after.atLimit);
  return sky && Math.abs(after.balance) <= 0.35 && after.clipped <= 0.005;
}

export interface Figures {
  readonly trials: number;
  readonly iouMedian: number;
  readonly iouWorstTenth: number;
  readonly skyMedian: number;
  readonly paintedMedian: number;
  readonly unlitMedian: number;
  readonly clipNinety: number;
  readonly trailMedianPx: number;
  readonly causeRight: number;
  /** Scenes that can be balanced at all; the two shares below are of these. */
  readonly fair: number;
  readonly balancedAfterOne: number;
  readonly balancedAfterTwo: number;
}

export function figuresOf(trials: readonly Trial[]): Figures {
  const size = (pick: (trial: Trial) => number): number[] => trials.map((trial) => Math.abs(pick(trial)));
  // Scenes that no exposure can balance without clipping, and skies out of reach of ISO, shutter and lens, do not count here.
  const fair = trials.filter(
    (trial) => trial.paintSpread <= 3.2 && ((trial.after[0]?.sky ?? 0) > -0.6 || trial.after[0]?.atLimit === true),
  );
  const share = (n: number): number =>
    fair.filter((trial) => trial.after[n] !== undefined && isBalanced(trial.after[n])).length /
    Math.max(1, fair.length);
  return {
    trials: trials.length,
    iouMedian: quantileOf(
      trials.map((trial) => trial.iou),
      0.5,
    ),
    iouWorstTenth: quantileOf(
      trials.map((trial) => trial.iou),
      0.1,
    ),
    skyMedian: quantileOf(
      size((trial) => trial.skyError),
      0.5,
    ),
    paintedMedian: quantileOf(
      size((trial) => trial.paintedError),
      0.5,
    ),
    unlitMedian: quantileOf(
      size((trial) => trial.unlitError),
      0.5,
    ),
    clipNinety: quantileOf(
      size((trial) => trial.clipError),
      0.9,
    ),
    trailMedianPx: quantileOf(
      trials.filter((trial) => trial.trailError !== null).map((trial) => Math.abs(trial.trailError!)),
      0.5,
    ),
    causeRight:
      trials.filter(
        (trial) => trial.cause === trial.trueCause || (trial.trueCause === 'mixed' && trial.cause !== 'round'),
      ).length / trials.length,
    fair: fair.length,
    balancedAfterOne: share(0),
    balancedAfterTwo: share(1),
  };
}

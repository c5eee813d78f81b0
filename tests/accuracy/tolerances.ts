import type { Figures } from './summary.js';

/** A figure of the gate: what is wished, and the bound just outside what is achieved on the gate's own scenes. */
interface Tolerance {
  readonly figure: Exclude<keyof Figures, 'trials'>;
  readonly target: string;
  readonly atLeast?: number;
  readonly atMost?: number;
}

export const TOLERANCES: readonly Tolerance[] = [
  { figure: 'iouMedian', target: 'sky mask IoU, median 0.97', atLeast: 0.97 },
  { figure: 'iouWorstTenth', target: 'sky mask IoU, worst tenth 0.90', atLeast: 0.9 },
  { figure: 'skyMedian', target: 'sky level, median error 0.15 stop', atMost: 0.1 },
  { figure: 'paintedMedian', target: 'painted level, median error 0.3 stop', atMost: 0.3 },
  { figure: 'trailMedianPx', target: 'trail, median error 0.4 px', atMost: 0.6 },
  { figure: 'causeRight', target: 'cause of star shapes right in 0.85', atLeast: 0.6 },
  { figure: 'balancedAfterTwo', target: 'balanced after two re-shots', atLeast: 0.4 },
];

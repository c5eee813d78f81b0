import type { Candidate } from './candidate.js';
import type { Whose } from './forecaster.js';
import type { Wish } from './rules/rule.js';

export interface Scored {
  readonly candidate: Candidate;
  readonly cost: number;
  /** Cost of each wish, in the order of `wishes`. */
  readonly parts: readonly number[];
  /** Whose light the candidate takes to be where; null where nothing of that kind is taken. */
  readonly whose: Whose | null;
}

export interface Solution {
  readonly wishes: readonly Wish[];
  readonly stay: Scored;
  /** Cheapest first. */
  readonly ranked: readonly Scored[];
}

/** Lamps that are changed alike keep their shares, whoever's light is where. Stops. */
const ALIKE_WITHIN = 0.1;

export function areAlike(gains: readonly number[]): boolean {
  return Math.log2(Math.max(...gains) / Math.min(...gains)) < ALIKE_WITHIN;
}

/**
 * What is foretold by the belief under which the candidate is the likeliest to serve. A candidate that serves under one belief alone costs as much
 * more as that belief is unlikely: exp(-cost) is taken for its chance to serve, and chances add.
 */
export function likeliest(ways: readonly { weight: number; scored: Scored }[]): Scored {
  const chances = ways.map(({ weight, scored }) => weight * Math.exp(-scored.cost));
  const best = ways[chances.indexOf(Math.max(...chances))]!.scored;
  return { ...best, cost: -Math.log(chances.reduce((sum, chance) => sum + chance, 0)) };
}

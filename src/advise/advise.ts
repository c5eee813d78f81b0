import type { Advice, Option } from '../model/reading.js';
import type { Candidate } from './candidate.js';
import type { Facts } from './facts.js';
import { reasons } from './reasons.js';
import { CLIPPED_PAINT_ALLOWED } from './rules/headroom.js';
import { solve, type Scored, type Solution } from './solve.js';
import { changesInWords } from './words.js';

const MOST_OPTIONS = 4;

/** An alternative this much dearer than the best is not offered. */
const WORSE_BY = 2.5;

/** The next settings. Verdict `unreadable` when there is no sky to measure. */
export function advise(facts: Facts): Advice {
  if (facts.skyStops === null) {
    return {
      verdict: 'unreadable',
      summary: 'No sky could be measured in this frame, so there is no advice.',
      options: [],
    };
  }
  const solution = solve(facts);
  if (isBalanced(facts, solution))
    return { verdict: 'balanced', summary: 'Balanced: change nothing, keep shooting.', options: [] };
  const options = pick(solution).map((scored) => optionOf(facts, solution, scored));
  const first = options[0];
  if (first === undefined || first.changes.length === 0)
    return { verdict: 'balanced', summary: 'As near as the limits allow: keep shooting.', options: [] };
  return { verdict: 'adjust', summary: first.says, options };
}

/** Everything inside its tolerance, or nothing to be had that is clearly better. */
function isBalanced(facts: Facts, { stay, ranked }: Solution): boolean {
  const { wishes } = facts;
  const now = stay.candidate;
  const skyMiss = Math.abs(now.skyStops! - wishes.skyTargetStops);
  const inside = skyMiss <= wishes.toleranceStops && balanceMiss(facts, now) <= wishes.toleranceStops;
  const unclipped = (now.clippedFraction ?? 0) <= CLIPPED_PAINT_ALLOWED;
  const sharp = facts.trailPxAllowed === null || now.trailPx === null || now.trailPx <= 1.2 * facts.trailPxAllowed;
  const gain = ranked.length === 0 ? 0 : stay.cost - ranked[0]!.cost;
  return (inside && unclipped && sharp) || gain < 0.12;
}

function balanceMiss(facts: Facts, candidate: Candidate): number {
  if (candidate.paintedStops === null || candidate.skyStops === null) return 0;
  return Math.abs(candidate.paintedStops - candidate.skyStops - facts.wishes.balanceTargetStops);
}

/** The best, then the best of other kinds: options that turn the same dials are one kind. */
function pick({ ranked }: Solution): Scored[] {
  const kinds = new Set<string>();
  const chosen: Scored[] = [];
  for (const scored of ranked) {
    if (chosen.length >= MOST_OPTIONS || scored.cost > ranked[0]!.cost + WORSE_BY) break;
    const kind = scored.candidate.changes
      .map((change) => `${change.what}/${change.light ?? ''}`)
      .sort()
      .join();
    if (kinds.has(kind) || (chosen.length > 0 && kind === '')) continue;
    kinds.add(kind);
    chosen.push(scored);
  }
  return chosen;
}

function optionOf(facts: Facts, solution: Solution, scored: Scored): Option {
  const { candidate } = scored;
  const sky = round(candidate.skyStops);
  const painted = round(candidate.paintedStops);
  return {
    says: changesInWords(candidate.changes, facts.lights),
    changes: candidate.changes,
    predicted: {
      skyStops: sky,
      paintedStops: painted,
      balanceStops: sky === null || painted === null ? null : round(candidate.paintedStops! - candidate.skyStops!),
      paintedClippedFraction: candidate.clippedFraction === null ? null : Number(candidate.clippedFraction.toFixed(4)),
      trailPx: round(candidate.trailPx),
    },
    walks: candidate.walks,
    why: reasons(facts, solution, scored),
  };
}

function round(value: number | null): number | null {
  return value === null ? null : Number(value.toFixed(2));
}

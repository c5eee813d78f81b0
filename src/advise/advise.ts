import type { Advice, Change, HandFault, Limit, Option } from '../model/reading.js';
import { isShownOff, skyOff } from './aims.js';
import { balanceMiss, isOff, starLengthPx, trailsOver, type Candidate } from './candidate.js';
import { keepsLimits } from './cameras.js';
import type { Facts } from './facts.js';
import { withHistory, type Try } from './history.js';
import { reasons } from './reasons.js';
import { CLIPPED_PAINT_ALLOWED } from './rules/headroom.js';
import { TRAIL_SLACK } from './rules/trail.js';
import type { Scored, Solution } from './scored.js';
import { outcomesOf, solve } from './solve.js';
import { changesInWords, figure, stopsOff } from './words.js';

const MOST_OPTIONS = 4;

/** An alternative this much dearer than the best is not offered. */
const WORSE_BY = 2.5;

const DAMAGED = 'Part of the picture is damaged: copy the file from the card again, or go by another frame.';

/** The next settings. Verdict `unreadable` when there is no sky to measure, or the file is damaged. `tries` are the earlier frames of the setup, oldest first. */
export function advise(facts: Facts, tries: readonly Try[] = []): Advice {
  const advice = adviseSettings(facts, tries);
  if (facts.handFault === null || advice.verdict === 'unreadable') return advice;
  return { ...advice, summary: `${FIRST_BY_HAND[facts.handFault]} ${advice.summary}` };
}

/** Said before any setting: no setting mends it, and every frame till then is lost. */
const FIRST_BY_HAND: Readonly<Record<HandFault, string>> = {
  defocus: 'The stars are out of focus: focus anew on a bright one.',
  shake: 'The camera shook: steady the tripod, let go of it.',
};

function adviseSettings(facts: Facts, tries: readonly Try[]): Advice {
  if (facts.damaged || facts.skyStops === null)
    return { verdict: 'unreadable', summary: facts.damaged ? DAMAGED : NO_SKY, options: [], limit: null };
  const solved = solve(facts);
  const stay = solved.stay.candidate;
  const limit = limitOf(facts, stay);
  if (limit === null) return { verdict: 'balanced', summary: balancedInWords(facts, stay), options: [], limit: null };
  const solution = worthChanging(facts, { ...solved, ranked: withHistory(solved.ranked, facts, tries) });
  const chosen = withOneLamp(pick(solution), solution, facts);
  const options = chosen.map((scored) => optionOf(facts, solution, scored));
  const first = options[0];
  if (first === undefined && solved.ranked.length === 0 && facts.wishes.lateSeconds > 0)
    return { verdict: 'adjust', summary: tooLate(facts), options: [], limit };
  if (first === undefined) return { verdict: 'adjust', summary: beyondReach(facts, stay, limit), options: [], limit };
  const best = chosen[0]!.candidate;
  const summary = `${first.says}${trailsInWords(facts, best)}`;
  return { verdict: 'adjust', summary, options, limit: limitOf(facts, best) };
}

const NO_SKY = 'No sky could be measured in this frame, so there is no advice.';

/** Stars up to so much over the trailing limit are let pass, but not in silence. */
const TRAIL_LET_PASS = 1.2;

function balancedInWords(facts: Facts, now: Candidate): string {
  const { paintedStops, trailPxAllowed } = facts;
  const over = trailsOver(now, trailPxAllowed, TRAIL_SLACK);
  const says =
    paintedStops === null
      ? 'The sky is on its target; no painted ground was found to balance it with.'
      : facts.handFault === null
        ? 'Balanced: change nothing, keep shooting.'
        : 'Sky and paint are balanced: change no setting.';
  return `${says}${over ? ' The stars are a little over the trailing limit.' : ''}`;
}

/** Best first does not mean free of faults: trails that are taken into the bargain are said with the settings. */
function trailsInWords({ trailPxAllowed, otherBlurPx, handFault }: Facts, then: Candidate): string {
  if (handFault !== null || !trailsOver(then, trailPxAllowed, TRAIL_LET_PASS)) return '';
  return ` Stars will trail: ${figure(starLengthPx(then, otherBlurPx)!)} px for ${figure(trailPxAllowed!)} allowed.`;
}

function tooLate({ wishes }: Facts): string {
  return `Nobody can be at the lamp in time: you come there ${String(wishes.lateSeconds)} s after the shutter opens, too late to paint. Set a longer delay.`;
}

/** A change that gains less than this is not worth the trouble, unless it brings everything inside its target. */
const NOT_WORTH_A_CHANGE = 0.12;

/** Without what gains too little: where the best change is not worth its trouble, only changes that put all right are left, if any. */
function worthChanging(facts: Facts, solution: Solution): Solution {
  const [best] = solution.ranked;
  if (best === undefined) return solution;
  const stands = keepsLimits(facts.settings, facts) ? NOT_WORTH_A_CHANGE : -Infinity;
  if (best.candidate.changes.length > 0 && solution.stay.cost - best.cost >= stands) return solution;
  return { ...solution, ranked: solution.ranked.filter(({ candidate }) => isInside(facts, candidate)) };
}

/** Sky, balance, clipped paint and trail all inside what is wished. */
function isInside(facts: Facts, now: Candidate): boolean {
  const { wishes, trailPxAllowed } = facts;
  const sharp = !trailsOver(now, trailPxAllowed, TRAIL_LET_PASS);
  const unclipped = (now.clippedFraction ?? 0) <= CLIPPED_PAINT_ALLOWED;
  return sharp && unclipped && skyOff(facts, now) === null && !isOff(balanceMiss(now, wishes), wishes);
}

/**
 * What a frame of these settings still runs into: a sky that is bright by itself, a lens and sensor that take in too little, stars that
 * trail first, a lamp that is too weak or lights too unevenly. Null inside the targets.
 */
function limitOf(facts: Facts, candidate: Candidate): Limit | null {
  if (isInside(facts, candidate)) return null;
  const { wishes } = facts;
  const sky = skyOff(facts, candidate);
  if (sky !== null) return sky > 0 ? 'sky' : 'lens';
  if (isOff(balanceMiss(candidate, wishes), wishes) || (candidate.clippedFraction ?? 0) > CLIPPED_PAINT_ALLOWED)
    return 'lamp';
  return 'lens';
}

const LIMIT_IN_WORDS: Readonly<Record<Limit, string>> = {
  sky: 'the limit is the sky itself (twilight, Moon or town)',
  lens: 'the limit is the lens and the ISO, shutter and trail allowed',
  lamp: 'the limit is the lamp: its light, or where it stands',
};

/** Not balanced, and nothing that camera, lamps and hands have brings it clearly nearer: what is left, in one line. */
function beyondReach(facts: Facts, now: Candidate, limit: Limit): string {
  return `As near as the limits allow: ${missesOf(facts, now, 'some paint clips, lit too unevenly for any exposure').join(', ')}; ${LIMIT_IN_WORDS[limit]}.`;
}

function stillOff(facts: Facts, then: Candidate): string {
  const text = missesOf(facts, then).join(', ');
  return `${text.charAt(0).toUpperCase()}${text.slice(1)}.`;
}

function missesOf(facts: Facts, now: Candidate, clips = 'some paint clips'): string[] {
  const { wishes } = facts;
  const parts: string[] = [];
  const sky = skyOff(facts, now);
  const paint = balanceMiss(now, wishes);
  if (sky !== null)
    parts.push(
      isShownOff(facts, now, sky) ? `the sky is ${stopsOff(sky)}` : 'the sky is probably darker than it shows',
    );
  if (isOff(paint, wishes)) parts.push(`the paint is ${stopsOff(paint)}`);
  if ((now.clippedFraction ?? 0) > CLIPPED_PAINT_ALLOWED) parts.push(clips);
  if (parts.length === 0) parts.push('stars are over the trailing limit');
  return parts;
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

/** Where each lamp's own light is known, one of the options leaves all lamps but one as they stand, if that helps at all. */
function withOneLamp(chosen: readonly Scored[], { ranked, stay }: Solution, { lampLayers }: Facts): readonly Scored[] {
  const movesOne = ({ candidate }: Scored): boolean =>
    new Set(candidate.changes.flatMap(({ light }) => light ?? [])).size === 1;
  if (lampLayers === null || chosen.length === 0 || chosen.some(movesOne)) return chosen;
  const alone = ranked.find((scored) => movesOne(scored) && scored.cost < stay.cost);
  return alone === undefined ? chosen : [...chosen.slice(0, MOST_OPTIONS - 1), alone];
}

function optionOf(facts: Facts, solution: Solution, scored: Scored): Option {
  const { candidate } = scored;
  return {
    says: changesInWords(candidate.changes, facts.lights),
    changes: candidate.changes.map((change) => ({ ...change, factor: Number(change.factor.toPrecision(4)) })),
    predicted: predictedOf(facts, candidate),
    walks: candidate.walks,
    why: reasons(facts, solution, scored),
  };
}

function predictedOf({ otherBlurPx }: Facts, candidate: Candidate): Option['predicted'] {
  const { skyStops, clippedFraction } = candidate;
  // What is foretold is what will be read: nothing reads over clipping.
  const paintedStops = candidate.paintedStops === null ? null : Math.min(0, candidate.paintedStops);
  const sky = round(skyStops);
  const painted = round(paintedStops);
  return {
    skyStops: sky,
    paintedStops: painted,
    balanceStops: sky === null || painted === null ? null : round(paintedStops! - skyStops!),
    paintedClippedFraction: clippedFraction === null ? null : Number(clippedFraction.toFixed(4)),
    trailPx: round(starLengthPx(candidate, otherBlurPx)),
  };
}

/** Changes of the photographer's own choosing as options: what they would give, and what stays off its target. */
export function triedOut(facts: Facts): (changes: readonly Change[]) => Option {
  const outcome = outcomesOf(facts);
  return (changes) => {
    const candidate = outcome(changes);
    const limit = limitOf(facts, candidate);
    return {
      says: changesInWords(changes, facts.lights),
      changes,
      predicted: predictedOf(facts, candidate),
      walks: candidate.walks,
      why: `${outcomeInWords(facts, candidate, limit)}${widerPaint(facts, candidate)}`,
    };
  };
}

function outcomeInWords(facts: Facts, then: Candidate, limit: Limit | null): string {
  if (facts.skyStops === null) return NO_SKY;
  return limit === null ? 'Sky, balance, clipping and trails are inside what is wished.' : stillOff(facts, then);
}

/** A stop's tenth is not seen. */
const SEEN_STOPS = 0.1;

/** More lamp light paints more land: the middle of the paint can sink though every place of it gets brighter. */
function widerPaint(facts: Facts, { paintedStops, skyStops, paintedAreaRatio }: Candidate): string {
  if (facts.paintedStops === null || facts.skyStops === null || paintedStops === null || skyStops === null) return '';
  const sinks = paintedStops - skyStops < facts.paintedStops - facts.skyStops - SEEN_STOPS;
  return sinks && (paintedAreaRatio ?? 1) > 1.1
    ? ' More land counts as painted then, dim land too, so that the middle of the paint is darker; what is painted now is not.'
    : '';
}

function round(value: number | null): number | null {
  return value === null ? null : Number(value.toFixed(2));
}

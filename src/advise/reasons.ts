import { aimsAbove, isShownOff, skyOff } from './aims.js';
import { keepsLimits } from './cameras.js';
import { balanceMiss, isOff, starLengthPx, trailsOver, type Candidate } from './candidate.js';
import type { Change } from '../model/reading.js';
import { ASSUMED_LIGHT, type Facts } from './facts.js';
import { spreadAfter } from './lamps.js';
import { CLIPPED_PAINT_ALLOWED } from './rules/headroom.js';
import { miscountStops } from '../calibration/hands.js';
import type { Scored, Solution } from './scored.js';
import { figure, stopsInWords, stopsOff, powerInWords } from './words.js';

/** Why this option: what is wrong now, what each change is for, what it costs. Plain sentences, each with its number. */
export function reasons(facts: Facts, solution: Solution, scored: Scored): string {
  const said = [
    ...wrongNow(facts),
    ...uneven(facts, scored.candidate),
    ...becauseOf(facts, scored),
    ...takenToBe(facts, scored),
    ...aimedAbove(facts),
    ...ifOneBurnt(facts, scored.candidate),
    ...whatRemains(facts, scored),
    ...limitsSetAside(facts, scored.candidate),
  ];
  const decided = decidingWishes(solution, scored);
  if (decided.length > 0) said.push(`What decided: ${decided.join(', ')}.`);
  return said.join(' ');
}

function limitsSetAside(facts: Facts, candidate: Candidate): string[] {
  if (keepsLimits(candidate, facts)) return [];
  return [
    'Nothing keeps within your limits of ISO, shutter and aperture from where the camera stands, so they were set aside.',
  ];
}

function wrongNow(facts: Facts): string[] {
  const { wishes, headroom, paintedClipped } = facts;
  const said: string[] = [];
  const sky = skyOff(facts, facts);
  const paint = balanceMiss(facts, wishes);
  if (sky !== null)
    said.push(
      isShownOff(facts, facts, sky)
        ? `The sky is ${stopsOff(sky)} for its target.`
        : 'The sky is probably darker than it shows.',
    );
  if (isOff(paint, wishes)) said.push(`The paint is ${stopsOff(paint)} for its balance with the sky.`);
  const clipped = paintedClipped ?? 0;
  if (clipped > CLIPPED_PAINT_ALLOWED && headroom !== null)
    said.push(
      `${percent(clipped)} of the paint is clipped, probably by about ${figure(headroom.clippedMedianOverStops)} stops (an estimate: clipping hides it).`,
    );
  if (nothingNoted(facts) && paint !== null)
    said.push(
      `No lamp was noted, so one held light is assumed and its change is given as a factor.${Math.abs(paint) > MAY_BE_UNLIT_STOPS ? ' If nothing was lit by hand, what counts as paint here is land in moonlight or town light.' : ''}`,
    );
  return said;
}

/** No lamp was noted: one held light is assumed. */
function nothingNoted({ lights }: Facts): boolean {
  return lights.length === 1 && lights[0]!.name === ASSUMED_LIGHT.name;
}

/** Without notes, paint this far off its balance may be none (common practice, no source). */
const MAY_BE_UNLIT_STOPS = 2;

/** A stop's tenth or two is no reason to walk. */
const WORTH_DIMMING_STOPS = 0.2;

/** No lamp noted: what a lamp that burnt through would need beside the change of the held light that is assumed. */
function ifOneBurnt(facts: Facts, { changes }: Candidate): string[] {
  if (!nothingNoted(facts) || facts.paintedStops === null) return [];
  const factorOf = (wanted: Change['what']): number =>
    changes.filter(({ what }) => what === wanted).reduce((product, { factor }) => product * factor, 1);
  const power = factorOf('paintTime') / factorOf('shutter');
  return Math.abs(Math.log2(power)) < WORTH_DIMMING_STOPS
    ? []
    : [`If a lamp burnt through the exposure as well, it needs ${figure(power)} times its light to keep its share.`];
}

/** Paint that spans more than this is seen to be uneven (common practice, no source). */
const UNEVEN_STOPS = 2.5;

function uneven({ falloffStops, lights }: Facts, { changes }: Candidate): string[] {
  if (falloffStops === null || falloffStops < UNEVEN_STOPS) return [];
  if (changes.some(({ what, factor }) => what === 'lampDistance' && factor > 1))
    return [
      `The paint spans ${figure(falloffStops)} stops, and a nearer lamp makes it more uneven: the price of its light.`,
    ];
  const span = `The paint spans ${figure(falloffStops)} stops; dimming does not even it out (its dim parts sink into the ambient light), distance does`;
  const light = lights.find((own) => own.distanceM !== null);
  if (light?.distanceM == null) return [`${span}: a lamp twice as far spreads it over about half as many stops.`];
  const twice = light.distanceM * 2;
  const after = falloffStops * spreadAfter(falloffStops, light.distanceM, twice);
  return [
    `${span}: ${light.name} at ${figure(twice)} m instead of ${figure(light.distanceM)} m, with up to four times the light, would make it about ${figure(after)}.`,
  ];
}

/** What one frame does not tell and this option goes by. */
function takenToBe({ lights }: Facts, { whose }: Scored): string[] {
  if (whose === null) return [];
  const [middle, brightest] = [lights[whose.middle]!.name, lights[whose.brightest]!.name];
  return [
    `One frame does not tell the lamps apart: this takes ${middle} to light most of the paint and ${brightest} its brightest part, which changing all alike would not put right; the next frame tells.`,
  ];
}

function becauseOf(facts: Facts, { candidate }: Scored): string[] {
  const said: string[] = [];
  // Neither paint nor a lamp's note: nothing that the camera could change besides.
  if (facts.paintedStops === null && nothingNoted(facts)) return said;
  const camera = candidate.changes.filter((change) => change.light === undefined);
  const sensitivity = camera
    .filter((change) => change.what !== 'shutter')
    .reduce((product, change) => product * change.factor, 1);
  const through = camera.reduce((product, change) => product * change.factor, 1);
  const stand = facts.lights.filter((light) => light.kind === 'stand');
  const held = facts.lights.filter((light) => light.kind === 'held');
  if (Math.abs(Math.log2(sensitivity)) > 0.1 && held.length > 0)
    said.push(`ISO and aperture move everything together, the paint too (x ${figure(sensitivity)}).`);
  const standStops = Math.log2(through);
  if (standStops > 0.1 && stand.length > 0) {
    const power = stand.length === 1 ? stand[0]!.power : null;
    const dimmed =
      power === null
        ? `${figure(1 / through)} of its present power`
        : `${powerInWords(power / through)} instead of ${powerInWords(power)}`;
    said.push(
      `The camera makes the stand lamp ${stopsInWords(standStops)} brighter, though nobody touched it: to stay as it is, ${dimmed} or ${figure(Math.sqrt(through))} times its distance.`,
    );
  }
  if (standStops < -0.1 && stand.length > 0)
    said.push(`The camera makes the stand lamp ${stopsInWords(-standStops)} darker as well.`);
  if (camera.some((change) => change.what === 'shutter') && held.length > 0)
    said.push('The shutter changes sky and stand lamps, not a counted paint time.');
  return said;
}

/** Aimed nearer than this, nobody sees a difference. Stops. */
const WORTH_SAYING_STOPS = 0.1;

function aimedAbove(facts: Facts): string[] {
  const { sky, balance } = aimsAbove(facts);
  if (Math.max(sky, balance) < WORTH_SAYING_STOPS) return [];
  const above = [
    ...(sky >= WORTH_SAYING_STOPS ? [`the sky ${stopsInWords(sky)} over its target`] : []),
    ...(balance >= WORTH_SAYING_STOPS ? [`the paint ${stopsInWords(balance)} over its balance`] : []),
  ];
  return [
    `This file's tone curve is not known; ${facts.curveHint === null ? 'cameras mostly brighten mid tones' : 'the shapes of its stars, and what cameras do, tell how much it brightens mid tones'}, so this aims ${above.join(' and ')}.`,
  ];
}

/** A count over this part of the shutter leaves nobody time to come into place. */
const FILLS = 0.9;

function whatRemains(facts: Facts, { candidate }: Scored): string[] {
  const said: string[] = [];
  const short = candidate.counts.filter((seconds) => seconds < 2);
  if (short.length > 0)
    said.push(
      `A count of ${figure(short[0]!)} s is likely to be off by ${figure(miscountStops(short[0]!))} stop; a dimmer torch and a longer count is surer.`,
    );
  const { wishes, trailPxAllowed, otherBlurPx } = facts;
  const longest = Math.max(0, ...candidate.counts);
  if (candidate.shutterSeconds !== null && longest > FILLS * candidate.shutterSeconds)
    said.push(
      'The count fills the exposure: be in place before the shutter opens (self-timer, or --delay with --reach), or have somebody release it.',
    );
  const paint = balanceMiss(candidate, wishes);
  if (isOff(paint, wishes) && paint < 0)
    said.push(
      candidate.movedDoublings > 0
        ? `The paint stays ${stopsOff(paint)}: it needs a stronger lamp.`
        : `The paint stays ${stopsOff(paint)}: it needs a stronger or nearer lamp, or a longer shutter to paint in.`,
    );
  const clippedNow = facts.headroom?.fractionAbove[0] ?? 0;
  if ((candidate.clippedFraction ?? 0) > Math.max(0.01, 1.5 * clippedNow))
    said.push(
      `${percent(candidate.clippedFraction!)} of the paint will clip: its bright parts are too far over its middle.`,
    );
  const sky = skyOff(facts, candidate);
  if (sky !== null && isShownOff(facts, candidate, sky))
    said.push(
      sky < 0
        ? `The sky stays ${stopsOff(sky)}: ${candidate.iso !== null && candidate.iso >= wishes.maxIso ? 'the limits of ISO, shutter and aperture do not reach further' : 'more ISO, shutter or opening would cost the other wishes more'}.`
        : 'The sky is bright by itself (twilight, Moon or town): lamps cannot mend that; wait for darkness or turn away from it.',
    );
  if (trailsOver(candidate, trailPxAllowed, 1.1))
    said.push(
      `Stars will be ${figure(starLengthPx(candidate, otherBlurPx)!)} px long, over the ${figure(trailPxAllowed!)} px allowed: the price of the light.`,
    );
  return said;
}

/** The wishes that this option serves best against changing nothing. */
function decidingWishes({ wishes, stay }: Solution, { parts }: Scored): string[] {
  return wishes
    .map((wish, n) => ({ says: wish.says, saved: stay.parts[n]! - parts[n]! }))
    .filter(({ saved }) => saved > 0.2)
    .sort((a, b) => b.saved - a.saved)
    .slice(0, 2)
    .map(({ says }) => says);
}

function percent(fraction: number): string {
  return `${figure(fraction * 100)} %`;
}

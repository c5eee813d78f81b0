import type { Facts } from './facts.js';
import { spreadAfter } from './lamps.js';
import { miscountStops } from './rules/countableTime.js';
import type { Scored, Solution } from './solve.js';
import { figure } from './words.js';

/** Why this option: what is wrong now, what each change is for, what it costs. Plain sentences, each with its number. */
export function reasons(facts: Facts, solution: Solution, scored: Scored): string {
  const said = [...wrongNow(facts), ...uneven(facts), ...becauseOf(facts, scored), ...whatRemains(facts, scored)];
  const decided = decidingWishes(solution, scored);
  if (decided.length > 0) said.push(`What decided: ${decided.join(', ')}.`);
  return said.join(' ');
}

function wrongNow(facts: Facts): string[] {
  const { skyStops, paintedStops, wishes, headroom } = facts;
  const said: string[] = [];
  if (skyStops !== null) {
    const miss = skyStops - wishes.skyTargetStops;
    if (Math.abs(miss) > wishes.toleranceStops) said.push(`The sky is ${stopsOff(miss)} its target.`);
  }
  if (skyStops !== null && paintedStops !== null) {
    const miss = paintedStops - skyStops - wishes.balanceTargetStops;
    if (Math.abs(miss) > wishes.toleranceStops) said.push(`The paint is ${stopsOff(miss)} its balance with the sky.`);
  }
  const clipped = headroom?.fractionAbove[0] ?? 0;
  if (clipped > 0.005)
    said.push(
      `${percent(clipped)} of the paint is clipped, probably by about ${figure(headroom!.clippedMedianOverStops)} stops (an estimate: clipping hides it).`,
    );
  if (facts.lights.length === 1 && facts.lights[0]!.name === 'paint')
    said.push('No lamp was noted, so one held light is assumed and its change is given as a factor.');
  return said;
}

/** Paint that spans more than this is seen to be uneven (common practice, no source). */
const UNEVEN_STOPS = 2.5;

function uneven({ falloffStops, lights }: Facts): string[] {
  if (falloffStops === null || falloffStops < UNEVEN_STOPS) return [];
  const span = `The paint spans ${figure(falloffStops)} stops; dimming does not even it out, distance does`;
  const light = lights.find((own) => own.distanceM !== null);
  if (light?.distanceM == null) return [`${span}: a lamp twice as far spreads it over about half as many stops.`];
  const twice = light.distanceM * 2;
  const after = falloffStops * spreadAfter(falloffStops, light.distanceM, twice);
  return [
    `${span}: ${light.name} at ${figure(twice)} m instead of ${figure(light.distanceM)} m, with four times the light, would make it about ${figure(after)}.`,
  ];
}

function becauseOf(facts: Facts, { candidate }: Scored): string[] {
  const said: string[] = [];
  const camera = candidate.changes.filter((change) => change.light === undefined);
  const sensitivity = camera
    .filter((change) => change.what !== 'shutter')
    .reduce((product, change) => product * change.factor, 1);
  const through = camera.reduce((product, change) => product * change.factor, 1);
  const stand = facts.lights.filter((light) => light.kind === 'stand');
  const held = facts.lights.filter((light) => light.kind === 'held');
  if (Math.abs(Math.log2(sensitivity)) > 0.1 && held.length > 0)
    said.push(`ISO and aperture move everything together: they multiply the paint by ${figure(sensitivity)} too.`);
  if (Math.abs(Math.log2(through)) > 0.1 && stand.length > 0)
    said.push(
      `The camera multiplies the stand lamp by ${figure(through)}, though nobody touched it; to stay as it is it would go to ${figure(1 / through)} of its power or ${figure(Math.sqrt(through))} times the distance.`,
    );
  if (camera.some((change) => change.what === 'shutter') && held.length > 0)
    said.push('The shutter changes sky and stand lamps, not a counted paint time.');
  return said;
}

function whatRemains(facts: Facts, { candidate }: Scored): string[] {
  const said: string[] = [];
  const short = candidate.counts.filter((seconds) => seconds < 2);
  if (short.length > 0)
    said.push(
      `A count of ${figure(short[0]!)} s is likely to be off by ${figure(miscountStops(short[0]!))} stop; a dimmer torch and a longer count is surer.`,
    );
  const { wishes, trailPxAllowed } = facts;
  if (candidate.skyStops !== null && Math.abs(candidate.skyStops - wishes.skyTargetStops) > wishes.toleranceStops) {
    said.push(
      candidate.skyStops < wishes.skyTargetStops
        ? 'The limits of ISO, shutter and aperture do not reach the sky that is wished.'
        : 'The sky is bright by itself (twilight, Moon or town): lamps cannot mend that; wait for darkness or turn away from it.',
    );
  }
  if (trailPxAllowed !== null && candidate.trailPx !== null && candidate.trailPx > trailPxAllowed * 1.1)
    said.push(
      `Stars will be ${figure(candidate.trailPx)} px long, over the ${figure(trailPxAllowed)} px allowed: the price of the light.`,
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

function stopsOff(miss: number): string {
  return `${figure(Math.abs(miss))} ${Math.abs(miss) > 1.05 ? 'stops' : 'stop'} ${miss > 0 ? 'over' : 'under'}`;
}

function percent(fraction: number): string {
  return `${figure(fraction * 100)} %`;
}

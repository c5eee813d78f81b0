import type { Change, Light, Option } from '../model/reading.js';
import type { Candidate } from './candidate.js';
import type { Facts } from './facts.js';
import type { Scored } from './scored.js';

/** An earlier try of the same setup, with what was advised after it. Oldest first in a list of tries. */
export interface Try {
  readonly iso: number | null;
  readonly shutterSeconds: number | null;
  readonly aperture: number | null;
  readonly lights: readonly Light[];
  readonly balanced: boolean;
  readonly advised: Option | null;
}

/** What it is worth, in stops of cost, to go on with a change that was begun: numbers that tremble must not send anyone back. */
const STEADY = 0.35;

/** Figures closer than this many stops are the same setting. */
const SAME_STOPS = 0.09;

/**
 * Ranks anew with what was tried: settings that were tried and not balanced are left out, and what was advised last and is not done yet
 * goes first while it still serves.
 */
export function withHistory(ranked: readonly Scored[], facts: Facts, tries: readonly Try[]): readonly Scored[] {
  if (tries.length === 0) return ranked;
  const failed = tries.filter(({ balanced }) => !balanced);
  const pending = stillToDo(facts, tries.at(-1)!.advised);
  const kept = ranked.filter(({ candidate }) => !failed.some((old) => isAgain(candidate, facts.lights, old)));
  if (pending.length === 0) return kept;
  return kept
    .map((scored) => (goesOn(scored.candidate, pending) ? { ...scored, cost: scored.cost - STEADY } : scored))
    .sort((a, b) => a.cost - b.cost);
}

/** The changes advised last that the settings of now do not show. Changes without figures cannot be followed. */
function stillToDo({ settings, lights }: Facts, advised: Option | null): readonly Change[] {
  return (advised?.changes ?? []).filter(({ what, light, to }) => {
    if (to === null) return false;
    const lamp = lights.find(({ name }) => name === light);
    const now = {
      iso: settings.iso,
      shutter: settings.shutterSeconds,
      aperture: settings.aperture,
      paintTime: lamp?.seconds ?? null,
      lampPower: lamp?.power ?? null,
      lampDistance: lamp?.distanceM ?? null,
    }[what];
    return now !== null && !same(now, to);
  });
}

function goesOn({ changes }: Candidate, pending: readonly Change[]): boolean {
  return pending.every(({ what, light, to }) =>
    changes.some((own) => own.what === what && own.light === light && own.to !== null && same(own.to, to!)),
  );
}

/** Dialled in, the candidate would be that try once more; false where a figure is not known. */
function isAgain(candidate: Candidate, lights: readonly Light[], old: Try): boolean {
  const camera: readonly [number | null, number | null][] = [
    [candidate.iso, old.iso],
    [candidate.shutterSeconds, old.shutterSeconds],
    [candidate.aperture, old.aperture],
  ];
  if (!camera.every(([now, then]) => now !== null && then !== null && same(now, then))) return false;
  const burning = old.lights.filter(({ power }) => power !== 0);
  if (burning.length !== lights.length) return false;
  return lights.every((light) => {
    const then = burning.find(({ name }) => name === light.name);
    if (then === undefined) return false;
    const to = (what: Change['what'], now: number | null): number | null => {
      const change = candidate.changes.find((own) => own.what === what && own.light === light.name);
      return change === undefined ? now : (change.to ?? Number.NaN);
    };
    return (
      alike(to('paintTime', light.seconds), then.seconds) &&
      alike(to('lampPower', light.power), then.power) &&
      alike(to('lampDistance', light.distanceM), then.distanceM)
    );
  });
}

/** Not known both times is the same: nobody touched it. */
function alike(now: number | null, then: number | null): boolean {
  return now === null || then === null ? now === then : same(now, then);
}

function same(a: number, b: number): boolean {
  return Math.abs(Math.log2(a / b)) < SAME_STOPS;
}

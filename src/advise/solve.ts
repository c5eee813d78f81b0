import { aimsAbove } from './aims.js';
import { cameraMoves, keepsLimits, type CameraMove } from './cameras.js';
import type { Change } from '../model/reading.js';
import type { Candidate } from './candidate.js';
import type { Facts } from './facts.js';
import { clippedAfter } from './forecast.js';
import { beliefsOf, flatteningFor, MOST_GUESSED, noFlattening, type Forecaster, type Whose } from './forecaster.js';
import { lampMoves, stayPut, type Flattening, type LampMove } from './lamps.js';
import { RULES } from './rules/list.js';
import { areAlike, likeliest, type Scored, type Solution } from './scored.js';

/** Camera settings that are looked into with every lamp, after a first ranking by the camera's own wishes. */
const CAMERAS_KEPT = 50;
/** Lamps told apart are worked out cell by cell: fewer cameras, sooner an answer. */
const CAMERAS_KEPT_APART = 30;

/** What costs this much more than the best is forgotten. */
const KEPT_WITHIN = 8;

/** Paint may be aimed a little lower than the balance wishes when that spares its highlights. */
const AIMS = [0, -0.17, -0.33, -0.6, -1];

/**
 * Enumerates the settings that a camera and a pair of hands have and ranks them by what they cost the wishes. Sky, ambient and
 * stand lights go with ISO t / N^2, held lights with ISO t_paint / N^2, both with power / distance^2.
 */
export function solve(facts: Facts): Solution {
  const wishes = RULES.map((rule) => rule.wish(facts)).filter((wish) => wish !== null);
  const score = (candidate: Candidate, whose: Whose | null = null): Scored => {
    const parts = wishes.map((wish) => wish.cost(candidate));
    return { candidate, parts, whose, cost: parts.reduce((sum, part) => sum + part, 0) };
  };
  const beliefs = beliefsOf(facts);
  const { forecast } = beliefs[0]!;
  const scoreMoves = (camera: CameraMove, moves: readonly LampMove[]): Scored => {
    const usual = score(candidateOf(facts, forecast, camera, moves));
    if (beliefs.length === 1 || areAlike(usual.candidate.lampGains)) return usual;
    return likeliest(
      beliefs.map(({ weight, whose, forecast: own }, n) => ({
        weight,
        scored: n === 0 ? usual : score(candidateOf(facts, own, camera, moves), whose),
      })),
    );
  };
  const cameras = cameraMoves(facts);
  const stay = score(candidateOf(facts, forecast, cameras[0]!, facts.lights.map(stayPut)));
  const within = cameras.filter((camera) => keepsLimits(camera, facts));
  // Limits that no camera keeps are no limits: the lamps can be put right still.
  const allowed = within.length > 0 ? within : cameras;
  const shortlist = allowed
    .map((camera) => ({ camera, cost: score(candidateOf(facts, forecast, camera, null)).cost }))
    .sort((a, b) => a.cost - b.cost)
    .slice(0, facts.lampLayers === null ? CAMERAS_KEPT : CAMERAS_KEPT_APART)
    .map(({ camera }) => camera);
  if (!shortlist.includes(cameras[0]!) && allowed.includes(cameras[0]!)) shortlist.push(cameras[0]!);
  const gains = new Map<number, readonly number[]>();
  const scored: Scored[] = [];
  let best = stay.cost;
  for (const camera of shortlist)
    for (const moves of lampChoices(facts, forecast, camera, gains)) {
      const own = scoreMoves(camera, moves);
      if (own.cost > best + KEPT_WITHIN) continue;
      best = Math.min(best, own.cost);
      scored.push(own);
    }
  scored.sort((a, b) => a.cost - b.cost);
  return { wishes, stay, ranked: scored };
}

/**
 * Lamp changes worth trying beside this camera setting: for each aim, the best few of each lamp, combined. `known` keeps the gains that the
 * aims ask of the lamps, by what goes through the camera, which many settings share.
 */
function lampChoices(
  facts: Facts,
  forecast: Forecaster,
  camera: CameraMove,
  known: Map<number, readonly number[]>,
): LampMove[][] {
  const { paintedStops, skyStops, wishes, lights } = facts;
  if (paintedStops === null || skyStops === null || lights.length === 0) return [lights.map(stayPut)];
  const through = camera.sensitivity * camera.shutterRatio;
  const aimed = skyStops + Math.log2(through) + wishes.balanceTargetStops + aimsAbove(facts).balance;
  const totals = AIMS.map((lower) => 2 ** (aimed + lower - paintedStops));
  const place = Math.round(Math.log2(through) * 1e6);
  const gains = known.get(place) ?? totals.map((total) => allLampsGain(facts, forecast, through, total));
  known.set(place, gains);
  const choices: LampMove[][] = [];
  const flattening = flatteningFor(facts);
  for (const [n, gain] of gains.entries()) {
    const each = lights.map((light) => {
      const camPart = light.kind === 'held' ? camera.sensitivity : through;
      const wanted = gain / camPart;
      const moves = lampMoves(light, wanted, paintRoom(camera.shutterSeconds, wishes.lateSeconds), flattening).sort(
        (a, b) => lampMiss(a, wanted, flattening) - lampMiss(b, wanted, flattening),
      );
      return [
        ...moves.filter(({ times }) => times === 1).slice(0, movesKept(lights.length)),
        ...moves.filter(({ times }) => times !== 1).slice(0, placesKept(lights.length)),
      ];
    });
    choices.push(...combine(each));
    if (facts.lampLayers === null && lights.length > 1 && lights.length <= MOST_GUESSED)
      choices.push(
        ...each.flatMap((moves, n) => moves.slice(0, ALONE_KEPT).map((move) => changedAlone(lights, n, move))),
      );
    if (facts.lampLayers !== null && lights.length > 1)
      choices.push(...oneLampOnly(facts, forecast, camera, totals[n]!));
  }
  return [...new Map(choices.map((moves) => [keyOf(moves), moves])).values()];
}

/** Aims lie near each other and lead to the same dials. */
function keyOf(moves: readonly LampMove[]): string {
  return moves.map(({ reached, times, count }) => `${String(reached)} ${String(times)} ${String(count)}`).join();
}

/** What all lamps must gain together. */
function allLampsGain(facts: Facts, forecast: Forecaster, through: number, total: number): number {
  const stopsAt = (all: number): number | null => {
    const paint = forecast.after(
      through,
      facts.lights.map(() => all),
    );
    return paint === null || paint.areaRatio < SEARCHED_AREA ? null : paint.stops;
  };
  return gainFor(facts, stopsAt, total);
}

/** Lamps that leave less of the painted area than this are too dim, whatever the little that is left looks like. */
const SEARCHED_AREA = 0.12;

/** With each lamp's own light known: one lamp is changed, the others stay as they stand. */
function oneLampOnly(facts: Facts, forecast: Forecaster, camera: CameraMove, total: number): LampMove[][] {
  const { lights, wishes } = facts;
  const through = camera.sensitivity * camera.shutterRatio;
  const standing = lights.map(({ kind }) => (kind === 'held' ? camera.sensitivity : through));
  return lights.flatMap((light, n) => {
    const gain = gainFor(
      facts,
      (own) =>
        forecast.after(
          through,
          standing.map((other, k) => (k === n ? own : other)),
        )?.stops ?? null,
      total,
    );
    // At an end of the search this lamp alone cannot do it.
    if (gain < 2 ** -7 || gain > 2 ** 7) return [];
    const wanted = gain / standing[n]!;
    return lampMoves(light, wanted, paintRoom(camera.shutterSeconds, wishes.lateSeconds), noFlattening)
      .sort((a, b) => lampMiss(a, wanted, noFlattening) - lampMiss(b, wanted, noFlattening))
      .slice(0, ALONE_KEPT)
      .map((move) => changedAlone(lights, n, move));
  });
}

function changedAlone(lights: Facts['lights'], n: number, move: LampMove): LampMove[] {
  return lights.map((other, k) => (k === n ? move : stayPut(other)));
}

const ALONE_KEPT = 5;

/** What is left of the shutter when the painter has come into place. */
function paintRoom(shutterSeconds: number | null, lateSeconds: number): number | null {
  return shutterSeconds === null ? null : Math.max(0, shutterSeconds - lateSeconds);
}

/** So many ways of each lamp that their combinations stay near fifty. */
function movesKept(lamps: number): number {
  return lamps === 1 ? 16 : Math.max(1, Math.floor(50 ** (1 / lamps)));
}

/** Other distances looked into, beside the moves that keep the distance. */
function placesKept(lamps: number): number {
  return lamps === 1 ? 6 : lamps === 2 ? 2 : 0;
}

function lampMiss(move: LampMove, wanted: number, flattening: Flattening): number {
  return (
    Math.abs(Math.log2(move.reached / wanted) + flattening(move.times)) +
    0.1 * move.changes.length +
    (move.walk ? 0.1 : 0)
  );
}

function combine(each: readonly LampMove[][]): LampMove[][] {
  return each.reduce<LampMove[][]>((rows, moves) => rows.flatMap((row) => moves.map((move) => [...row, move])), [[]]);
}

/** What changes would give, whoever thought of them. A change that names no light moves the camera. */
export function outcomesOf(facts: Facts): (changes: readonly Change[]) => Candidate {
  const { forecast } = beliefsOf(facts)[0]!;
  return (changes) => outcomeOf(facts, forecast, changes);
}

function outcomeOf(facts: Facts, forecast: Forecaster, changes: readonly Change[]): Candidate {
  const { iso, shutterSeconds, aperture } = facts.settings;
  const camera = changes.filter(({ light }) => light === undefined);
  const factorOf = (holds: (change: Change) => boolean): number =>
    camera.filter(holds).reduce((product, { factor }) => product * factor, 1);
  const after = (what: Change['what'], now: number | null): number | null =>
    camera.find((change) => change.what === what)?.to ?? now;
  const move: CameraMove = {
    iso: after('iso', iso),
    shutterSeconds: after('shutter', shutterSeconds),
    aperture: after('aperture', aperture),
    sensitivity: factorOf(({ what }) => what !== 'shutter'),
    shutterRatio: factorOf(({ what }) => what === 'shutter'),
    changes: camera,
  };
  const moves = facts.lights.map((light): LampMove => {
    const own = changes.filter((change) => change.light === light.name);
    const count = own.find(({ what }) => what === 'paintTime')?.to ?? light.seconds;
    return {
      changes: own,
      reached: own.reduce((product, { factor }) => product * factor, 1),
      times: timesOf(own.find(({ what }) => what === 'lampDistance')),
      count: light.kind === 'held' ? count : null,
      walk: own.some(({ what }) => what === 'lampDistance' || (what === 'lampPower' && light.kind === 'stand')),
    };
  });
  return candidateOf(facts, forecast, move, moves);
}

function timesOf(change: Change | undefined): number {
  return change?.from == null || change.to === null ? 1 : change.to / change.from;
}

/** `moves` null: only the camera is looked at, as if the lamps could follow. */
function candidateOf(
  facts: Facts,
  forecast: Forecaster,
  camera: CameraMove,
  moves: readonly LampMove[] | null,
): Candidate {
  const through = camera.sensitivity * camera.shutterRatio;
  const skyStops = facts.skyStops === null ? null : facts.skyStops + Math.log2(through);
  const gains = (moves ?? []).map(
    (move, n) => move.reached * (facts.lights[n]!.kind === 'held' ? camera.sensitivity : through),
  );
  const paint =
    moves === null
      ? null
      : forecast.after(
          through,
          gains,
          moves.map(({ times }) => times),
        );
  return {
    changes: [...camera.changes, ...(moves ?? []).flatMap((move) => move.changes)],
    iso: camera.iso,
    shutterSeconds: camera.shutterSeconds,
    aperture: camera.aperture,
    skyStops,
    paintedStops: paint === null ? null : paint.stops,
    clippedFraction:
      paint === null || facts.headroom === null
        ? null
        : Math.min(1, clippedAfter(facts.headroom, paint.highlightStops) / Math.max(0.1, paint.areaRatio)),
    paintedAreaRatio: paint?.areaRatio ?? null,
    trailPx: facts.trailPx === null ? null : facts.trailPx * camera.shutterRatio,
    counts: (moves ?? []).map((move) => move.count).filter((count) => count !== null),
    lampGains: gains.length === 0 ? [1] : gains,
    walks: (moves ?? []).filter((move) => move.walk).length,
    movedDoublings: (moves ?? []).reduce((sum, { times }) => sum + Math.abs(Math.log2(times)), 0),
  };
}

/**
 * The gain of the lamps that brings the paint to `total` times what it is now, by bisection. A brighter lamp that paints more dim land may lower
 * the middle of the paint; then any of the gains that serve will do, since what is chosen is judged by the forecast.
 */
function gainFor(facts: Facts, stopsAt: (gain: number) => number | null, total: number): number {
  const wanted = Math.log2(total);
  let low = -8;
  let high = 8;
  for (let n = 0; n < 14; n++) {
    const middle = (low + high) / 2;
    const after = stopsAt(2 ** middle);
    if (after === null || after - facts.paintedStops! < wanted) low = middle;
    else high = middle;
  }
  return 2 ** ((low + high) / 2);
}

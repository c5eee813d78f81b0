import type { Change, Light } from '../model/reading.js';
import { distanceRatio } from '../physics/exposure.js';
import { nearestCount, nearestDistance, nearestPower } from './dials.js';

/** One way of changing one light. `reached` is the factor on its exposure that the settings really give. */
export interface LampMove {
  readonly changes: readonly Change[];
  readonly reached: number;
  /** The lamp's distance over that of now. */
  readonly times: number;
  readonly count: number | null;
  readonly walk: boolean;
}

/** What a lamp moved to so many times its distance gives the middle of the paint over what the inverse square gives, stops. */
export type Flattening = (times: number) => number;

/** Changes of less than this (in stops) are left alone. */
const NOT_WORTH = 0.08;

/**
 * The ways to multiply a light's exposure by `factor` (its own part: the camera's is taken out), best matching of each kind.
 * A light without figures is changed by a bare factor. `paintRoomSeconds` is the part of the shutter in which a hand can paint.
 * `factor` is wished for the middle of the paint, which a lamp that is moved away dims less than its highlights.
 */
export function lampMoves(
  light: Light,
  factor: number,
  paintRoomSeconds: number | null,
  flattening: Flattening,
): LampMove[] {
  const moves: LampMove[] = [];
  const fits =
    light.kind === 'stand' || light.seconds === null || paintRoomSeconds === null || light.seconds <= paintRoomSeconds;
  if (fits) moves.push(stayPut(light));
  if (Math.abs(Math.log2(factor)) < NOT_WORTH && fits) return moves;
  if (light.kind === 'held') moves.push(...heldMoves(light, factor, paintRoomSeconds, flattening));
  else moves.push(...standMoves(light, factor, flattening));
  // Nobody takes a lamp farther off that gives too little light as it is.
  return moves.filter(({ times, reached }) => times <= 1 || Math.log2(reached / factor) + flattening(times) > -SHORT);
}

/** Stops. */
const SHORT = 0.5;

/** Its own steps, brightest at most full power; any step where none were told. */
function stepsOf({ powers }: Light): readonly number[] | undefined {
  return powers === undefined || powers.length === 0 ? undefined : powers;
}

export function stayPut(light: Light): LampMove {
  return { changes: [], reached: 1, times: 1, count: light.kind === 'held' ? light.seconds : null, walk: false };
}

function heldMoves(light: Light, factor: number, paintRoomSeconds: number | null, flattening: Flattening): LampMove[] {
  const { seconds } = light;
  if (seconds === null) return [bare('paintTime', light, factor, false)];
  const moves: LampMove[] = [];
  const most = paintRoomSeconds ?? 30;
  const wanted = nearestCount(seconds * factor);
  const longest = Math.floor(most * 2) / 2;
  for (const count of new Set([
    wanted,
    Math.max(0.5, wanted - 0.5),
    wanted + 0.5,
    ...(wanted > longest ? [longest] : []),
  ]))
    if (count <= most) moves.push(counted(light, seconds, count));
  // Too short to count, or longer than the shutter: another power (a diffuser, a lower mode) brings the count back.
  for (const count of [2, 3, 4, 5, 6, 8, 10, 15]) {
    if (count > most) continue;
    const rest = factor / (count / seconds);
    if (light.power !== null) {
      const power = nearestPower(Math.min(1, light.power * rest), stepsOf(light));
      if (power !== light.power) moves.push(withPower(light, seconds, count, power));
    }
  }
  for (const { metres, middle } of places(light, flattening)) {
    const rest = factor / middle;
    const count = Math.min(nearestCount(seconds * rest), longest);
    if (count >= 1) moves.push(heldFrom(light, seconds, count, metres, light.power));
    if (light.power === null) continue;
    for (const other of [3, 5, 8]) {
      const power = nearestPower(Math.min(1, (light.power * rest * seconds) / other), stepsOf(light));
      if (other <= most && power !== light.power) moves.push(heldFrom(light, seconds, other, metres, power));
    }
  }
  return moves;
}

function counted(light: Light, from: number, to: number): LampMove {
  return {
    changes: to === from ? [] : [{ what: 'paintTime', light: light.name, from, to, factor: to / from }],
    reached: to / from,
    times: 1,
    count: to,
    walk: false,
  };
}

function withPower(light: Light, from: number, count: number, power: number): LampMove {
  const time = counted(light, from, count);
  const factor = power / (light.power ?? 1);
  return {
    ...time,
    changes: [...time.changes, { what: 'lampPower', light: light.name, from: light.power, to: power, factor }],
    reached: time.reached * factor,
  };
}

function heldFrom(light: Light, from: number, count: number, metres: number, power: number | null): LampMove {
  const lit =
    power === null || power === light.power ? counted(light, from, count) : withPower(light, from, count, power);
  const factor = distanceRatio(light.distanceM!, metres);
  return {
    ...lit,
    changes: [...lit.changes, moved(light, metres)],
    reached: lit.reached * factor,
    times: metres / light.distanceM!,
    walk: true,
  };
}

function moved(light: Light, metres: number): Change {
  return {
    what: 'lampDistance',
    light: light.name,
    from: light.distanceM,
    to: metres,
    factor: distanceRatio(light.distanceM!, metres),
  };
}

/** Other distances for a lamp, with what each does to the middle of the paint. */
function places(light: Light, flattening: Flattening): { metres: number; middle: number }[] {
  const from = light.distanceM;
  if (from === null) return [];
  const metres = [0.5, 0.7, 1.25, 1.5, 2, 2.5].map((times) => nearestDistance(from * times));
  return [...new Set(metres)]
    .filter((to) => to !== from && worthwhile(from, to))
    .map((to) => ({ metres: to, middle: distanceRatio(from, to) * 2 ** flattening(to / from) }));
}

function standMoves(light: Light, factor: number, flattening: Flattening): LampMove[] {
  const moves: LampMove[] = [];
  const powerFor = (wanted: number): number | null =>
    light.power === null ? null : nearestPower(Math.min(1, light.power * wanted), stepsOf(light));
  const power = powerFor(factor);
  if (power !== null && power !== light.power) moves.push(atPower(light, power));
  if (light.power === null) moves.push(bare('lampPower', light, factor, true));
  for (const { metres, middle } of places(light, flattening)) {
    const other = powerFor(factor / middle);
    const lit = other === null || other === light.power ? stayPut(light) : atPower(light, other);
    moves.push({
      ...lit,
      changes: [...lit.changes, moved(light, metres)],
      reached: lit.reached * distanceRatio(light.distanceM!, metres),
      times: metres / light.distanceM!,
      walk: true,
    });
  }
  return moves;
}

function atPower(light: Light, power: number): LampMove {
  const factor = power / light.power!;
  return {
    changes: [{ what: 'lampPower', light: light.name, from: light.power, to: power, factor }],
    reached: factor,
    times: 1,
    count: null,
    walk: true,
  };
}

/** Distances that a person would go to: up to two and a half times as far or as near, within what a torch reaches. */
function worthwhile(from: number, to: number): boolean {
  return to >= 1.5 && to <= 40 && to / from <= 2.5 && from / to <= 2.5;
}

function bare(what: 'paintTime' | 'lampPower', light: Light, factor: number, walk: boolean): LampMove {
  const rounded = Number(factor.toPrecision(2));
  return {
    changes: [{ what, light: light.name, from: null, to: null, factor: rounded }],
    reached: rounded,
    times: 1,
    count: null,
    walk,
  };
}

/**
 * Ground from d - r to d + r of a lamp spans 2 log2((d + r) / (d - r)) stops by the inverse square; r follows from the span seen
 * now, and gives the span at the new distance. Returns new span over old.
 */
export function spreadAfter(falloffStops: number | null, from: number, to: number): number {
  if (falloffStops === null || falloffStops < 0.5) return 1;
  const ratio = 2 ** (Math.min(6, falloffStops) / 2);
  const reach = Math.min(0.9 * from, (from * (ratio - 1)) / (ratio + 1));
  if (to <= reach * 1.1) return 1.5;
  const span = (distance: number): number => 2 * Math.log2((distance + reach) / (distance - reach));
  return Math.max(0.4, Math.min(1.5, span(to) / span(from)));
}

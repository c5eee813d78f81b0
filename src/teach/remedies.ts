import type { Remedy } from '../model/lesson.js';
import type { Change, Light } from '../model/reading.js';
import type { Case } from './lesson.js';

/** A remedy that is not a setting. */
export function advice(does: string, price: string): Remedy {
  return { does, price, changes: [], gives: null };
}

function tried({ tryOut }: Case, does: string, price: string, changes: readonly Change[]): Remedy[] {
  return changes.length === 0 ? [] : [{ does, price, changes, gives: tryOut(changes) }];
}

/** ISO times a factor; everything goes with it. */
export function isoTimes(of: Case, factor: number): Remedy[] {
  const { iso } = of.reading.settings;
  const to = iso === null ? null : iso * factor;
  const size = Math.abs(Math.log2(factor)) > 1.5 ? 'two stops' : 'a stop';
  const does = to === null ? `ISO ${factor < 1 ? 'down' : 'up'} ${size}` : `ISO ${String(Number(to.toPrecision(2)))}`;
  const price = factor < 1 ? 'the sky sinks as much' : 'paint and stand lamps rise as much, and the grain shows';
  return tried(of, does, price, [{ what: 'iso', from: iso, to, factor }]);
}

/** Shutter times a factor: sky and stand lamps, not counted light. */
export function shutterTimes(of: Case, factor: number): Remedy[] {
  const { shutterSeconds } = of.reading.settings;
  if (shutterSeconds === null) return [];
  const to = Number((shutterSeconds * factor).toPrecision(2));
  if (to > of.wishes.maxShutterSeconds * 1.01) return [];
  const price =
    factor < 1
      ? 'sky and stand lamps sink, counted light does not; less time to paint in'
      : 'stars draw out as much; stand lamps rise, counted light does not';
  return tried(of, `shutter ${String(to)} s`, price, [
    { what: 'shutter', from: shutterSeconds, to, factor: to / shutterSeconds },
  ]);
}

/** Held light counted for a part of its time. */
export function countTimes(of: Case, factor: number, word: string): Remedy[] {
  const held = of.lights.filter(({ kind }) => kind === 'held');
  const changes = held.map(({ name, seconds }): Change => ({
    what: 'paintTime',
    light: name,
    from: seconds,
    to: seconds === null ? null : Number((seconds * factor).toPrecision(2)),
    factor,
  }));
  const price =
    factor < 1 ? 'short counts are hard to hold: dim the torch rather' : 'it must end before the shutter does';
  return tried(of, `count ${word}${named(held)}`, price, changes);
}

/** Stand lamps at a part of their power. */
export function powerTimes(of: Case, factor: number, word: string): Remedy[] {
  const stand = of.lights.filter(({ kind, power }) => kind === 'stand' && (power ?? 0.5) * factor <= 1);
  const changes = stand.map(({ name, power }): Change => ({
    what: 'lampPower',
    light: name,
    from: power,
    to: power === null ? null : power * factor,
    factor,
  }));
  return tried(of, `${word} the power${named(stand)}`, 'a walk to the lamp', changes);
}

/** Lamps farther off (or nearer): the light goes with the square. */
export function distanceTimes(of: Case, times: number, word: string): Remedy[] {
  const far = of.lights.filter(({ distanceM }) => distanceM !== null);
  const changes = far.map(({ name, distanceM }): Change => ({
    what: 'lampDistance',
    light: name,
    from: distanceM,
    to: distanceM! * times,
    factor: 1 / times ** 2,
  }));
  const price = times > 1 ? 'a walk; the light is more even' : 'a walk; the light is less even';
  return tried(of, `${word} the distance${named(far)}`, price, changes);
}

function named(lights: readonly Light[]): string {
  const names = lights.map(({ name }) => name).filter((name) => name !== 'paint');
  return names.length === 0 ? '' : ` (${names.join(', ')})`;
}

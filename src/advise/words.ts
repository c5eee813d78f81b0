import type { Change, Light } from '../model/reading.js';

/** "ISO 3200, count 1.5 s with the torch, back lamp to half power." */
export function changesInWords(changes: readonly Change[], lights: readonly Light[]): string {
  if (changes.length === 0) return 'Change nothing.';
  const parts = changes.map((change) => changeInWords(change, lights));
  const text = parts.join(', ');
  return `${text.charAt(0).toUpperCase()}${text.slice(1)}.`;
}

function changeInWords(change: Change, lights: readonly Light[]): string {
  const { what, to, factor } = change;
  const light = lights.find((own) => own.name === change.light);
  const name = light === undefined || light.name === 'paint' ? 'the light' : `the ${light.name}`;
  switch (what) {
    case 'iso':
      return to === null ? `${stops(factor)} ISO` : `ISO ${String(to)}`;
    case 'shutter':
      return to === null ? `shutter x ${figure(factor)}` : `shutter ${figure(to)} s`;
    case 'aperture':
      return to === null ? `aperture ${stops(factor)}` : `f/${figure(to)}`;
    case 'paintTime':
      return to === null ? paintFor(factor) : `count ${figure(to)} s with ${name}`;
    case 'lampPower':
      return to === null
        ? `${times(factor)} the power of ${name}${dimmer(factor)}`
        : `${lampName(light)} to ${powerInWords(to)}`;
    case 'lampDistance':
      return to === null
        ? `${name} ${figure(1 / Math.sqrt(factor))} x as far`
        : `${lampName(light)} at ${figure(to)} m`;
  }
}

function lampName(light: Light | undefined): string {
  if (light === undefined) return 'the lamp';
  return light.kind === 'stand' ? `${light.name} (stand lamp)` : light.name;
}

function dimmer(factor: number): string {
  const away = 1 / Math.sqrt(factor);
  return Math.abs(away - 1) < 0.05 ? '' : ` or ${figure(away)} x its distance`;
}

/** "half power", "37 % power". */
export function powerInWords(power: number): string {
  const names: readonly [number, string][] = [
    [1, 'full power'],
    [0.5, 'half power'],
    [0.25, 'quarter power'],
    [0.125, 'an eighth of its power'],
  ];
  return names.find(([value]) => value === power)?.[1] ?? `${String(Number((power * 100).toPrecision(2)))} % power`;
}

/** A miss as "1.4 stops too bright". */
export function stopsOff(miss: number): string {
  return `${stopsInWords(Math.abs(miss))} too ${miss > 0 ? 'bright' : 'dark'}`;
}

/** "1 stop", "1.4 stops". */
export function stopsInWords(size: number): string {
  return `${figure(size)} ${size > 1.05 ? 'stops' : 'stop'}`;
}

/** A count that was not noted is changed by its ratio; beyond eight times nobody counts on, nor so short: another lamp does it. */
function paintFor(factor: number): string {
  const ratios: readonly [number, string][] = [
    [0.25, 'for a quarter of the time'],
    [1 / 3, 'for a third of the time'],
    [0.5, 'for half the time'],
    [2 / 3, 'for two thirds of the time'],
    [0.75, 'for three quarters of the time'],
    [1.5, 'half as long again'],
    [2, 'twice as long'],
    [3, 'three times as long'],
    [4, 'four times as long'],
  ];
  const named = ratios.find(([value]) => Math.abs(Math.log2(factor / value)) < 0.05)?.[1];
  if (named !== undefined) return `paint ${named}`;
  if (factor > 8)
    return `paint ${figure(Math.log2(factor))} stops brighter (x ${figure(factor)}: a stronger or nearer lamp)`;
  if (factor < 1 / 8)
    return `paint ${figure(-Math.log2(factor))} stops darker (x ${figure(factor)}: a dimmer or more distant lamp)`;
  return factor > 1 ? `paint ${figure(factor)} times as long` : `paint for ${figure(factor)} of the time`;
}

function times(factor: number): string {
  const names: readonly [number, string][] = [
    [0.5, 'half'],
    [0.25, 'a quarter'],
    [2, 'twice'],
    [4, 'four times'],
  ];
  return names.find(([value]) => Math.abs(Math.log2(factor / value)) < 0.04)?.[1] ?? `${figure(factor)} x`;
}

function stops(factor: number): string {
  const value = Math.log2(factor);
  return `${stopsInWords(Math.abs(value))} ${value > 0 ? 'more' : 'less'}`;
}

/** At most two decimals, none needed for whole numbers. */
export function figure(value: number): string {
  return String(Number(value.toPrecision(value >= 10 ? 3 : 2)));
}

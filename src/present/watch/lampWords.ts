import type { Light } from '../../model/reading.js';

/** `torch 3 s, 6 m, full power (assumed)`. */
export function lampInWords({ name, kind, seconds, distanceM, power }: Light, noted: boolean): string {
  if (power === 0) return `${name} off${noted ? '' : ' (assumed)'}`;
  const parts = [
    ...(seconds === null ? [] : [`${figure(seconds)} s`]),
    ...(distanceM === null ? [] : [`${figure(distanceM)} m`]),
    ...(power === null || (power === 1 && kind === 'held') ? [] : [`${figure(power * 100)} %`]),
  ];
  return `${name} ${parts.length === 0 ? kind : parts.join(' ')}${noted ? '' : ' (assumed)'}`;
}

function figure(value: number): string {
  return String(Number(value.toPrecision(3)));
}

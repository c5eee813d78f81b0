import { handFaultOf, isDamaged, type Change, type HandFault, type Reading } from '../../model/reading.js';

/** What is to be done in words for large letters: one list of wordings for each change, the fullest first. */
export function bigWords(reading: Reading): string[][] {
  const {
    advice: { verdict, options, limit },
    stars,
  } = reading;
  const fault = handFaultOf(stars);
  const first = fault === null ? [] : [BY_HAND[fault]];
  if (isDamaged(reading)) return [['damaged file', 'damaged']];
  if (verdict === 'unreadable') return [['no sky found', 'no sky']];
  const best = options[0];
  if (verdict !== 'balanced' && best !== undefined) return [...first, ...best.changes.map(wordings)];
  if (verdict !== 'balanced' && limit !== null) return [...first, [`limit: ${limit}`, `limit ${limit}`, limit]];
  return fault === null ? [['keep']] : first;
}

const BY_HAND: Readonly<Record<HandFault, string[]>> = { defocus: ['focus'], shake: ['steady tripod', 'steady'] };

function wordings({ what, light, to, factor }: Change): string[] {
  const name = light === undefined || light === 'paint' ? 'paint' : light;
  const times = `x${short(factor)}`;
  switch (what) {
    case 'iso':
      return [`iso ${to === null ? times : String(to)}`];
    case 'shutter':
      return to === null ? [`shutter ${times}`, `time ${times}`] : seconds('shutter', to);
    case 'aperture':
      return [to === null ? `aperture ${times}` : `f/${short(to)}`, `f ${times}`];
    case 'paintTime':
      return to === null ? named(name, times) : seconds(name, to);
    case 'lampPower':
      return named(name, to === null ? times : `${short(to * 100)}%`);
    case 'lampDistance':
      return named(name, to === null ? `${short(1 / Math.sqrt(factor))}x far` : `${short(to)}m`);
  }
}

/** An S beside a figure reads like a 5: the unit stands apart, or is left out. */
function seconds(name: string, value: number): string[] {
  const figure = short(value);
  return [`${name} ${figure} sec`, ...named(name, `${figure} s`), ...named(name, figure)];
}

/** Shorter and shorter names, until it must fit. */
function named(name: string, figure: string): string[] {
  return [name.length, 6, 4, 2].filter((length) => length <= name.length).map((n) => `${name.slice(0, n)} ${figure}`);
}

function short(value: number): string {
  return String(Number(value.toPrecision(value >= 10 ? 3 : 2)));
}

import type { Light } from '../model/reading.js';

/** Figures of one lamp that were changed; power 0 is off. */
export interface LampSetting {
  readonly lamp: string;
  readonly seconds?: number;
  readonly distanceM?: number;
  readonly power?: number;
}

/** Words of the notes that a lamp cannot be called by. */
const RESERVED = new Set(['was', 'done', 'undo', 'u', 'help', '?', 'quit', 'q', 'from']);

export function isReserved(name: string): boolean {
  return RESERVED.has(name.toLowerCase());
}

/** More lamps than anyone carries. */
export const MOST_LAMPS = 12;

/** What a person could have used. */
export const LAMP_BOUNDS = {
  seconds: { least: 0.1, most: 3600 },
  distanceM: { least: 0.1, most: 1000 },
  power: { least: 0, most: 1 },
} as const;

export type LampFigure = keyof typeof LAMP_BOUNDS;

/** The lamp with the setting's figures; any other lamp as it was. */
export function applySetting(lamps: readonly Light[], { lamp, ...figures }: LampSetting): readonly Light[] {
  return lamps.map((light) => (light.name === lamp ? { ...light, ...figures } : light));
}

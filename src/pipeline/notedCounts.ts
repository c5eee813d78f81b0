import type { Settings, Warning } from '../model/frame.js';
import type { Light } from '../model/reading.js';

/** Counts that a shutter leaves no room for are slips of the pen, and advice from them is wrong. */
export function impossibleCounts(lights: readonly Light[], { shutterSeconds }: Settings): Warning[] {
  if (shutterSeconds === null) return [];
  return lights
    .filter(({ kind, seconds, power }) => kind === 'held' && power !== 0 && (seconds ?? 0) > shutterSeconds)
    .map(({ name, seconds }) => ({
      code: 'count-over-shutter',
      message: `The count noted for ${name}, ${String(seconds)} s, is longer than the shutter, ${String(shutterSeconds)} s: correct the note before you trust the advice.`,
    }));
}

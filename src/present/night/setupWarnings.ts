import type { NightFrame } from '../../model/night.js';

/** Warnings that come from a frame's neighbours in its setup, and so belong to the setup's story. */
const OF_NEIGHBOURS = ['tripod-moved', 'notes-contradicted'];

export function setupWarnings({ warnings }: NightFrame): string[] {
  return warnings.filter(({ code }) => OF_NEIGHBOURS.includes(code)).map(({ message }) => message);
}

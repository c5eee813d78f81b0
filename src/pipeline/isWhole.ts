import { wholeness } from '../read/wholeness.js';

/** A file that has arrived; `patient`: also one of which only `perhaps` can be said, after it was left to settle. */
export function isWhole(bytes: Uint8Array, patient: boolean): boolean {
  const found = wholeness(bytes);
  return found === 'whole' || (patient && found === 'perhaps');
}

import type { Reading } from '../model/reading.js';

/** One reading as one line. A number that is not finite would be a fault of ours: it is never written. */
export function readingAsJson(reading: Reading): string {
  return JSON.stringify(reading, (_, value: unknown) =>
    typeof value === 'number' && !Number.isFinite(value) ? null : value,
  );
}

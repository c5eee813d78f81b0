/** A person miscounts by about this much, whatever the count (common practice, no source). */
const MISCOUNT_SECONDS = 0.3;

/** The likely miscount of a count, in stops of its light. */
export function miscountStops(seconds: number): number {
  return Math.log2(1 + MISCOUNT_SECONDS / seconds);
}

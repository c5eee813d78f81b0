/** A JPEG without raw, as far as its header tells. */
export interface Exposed {
  readonly file: string;
  /** Camera and picture mode. */
  readonly key: string;
  readonly takenAt: string;
  readonly focalMm: number | null;
  /** log2 (ISO t / N^2). */
  readonly exposureStops: number;
}

/** Frames so many minutes apart are hardly tries of one setup. */
const MOST_APART_MS = 20 * 60_000;

/** A curve shows where exposures lie this far apart; what lies farther off shares no light. */
const LEAST_SPAN_STOPS = 0.7;
const MOST_SPAN_STOPS = 4;

/** Frames of one series. */
const SERIES = 5;

/** Series looked at for one camera and picture mode. */
const MOST_SERIES = 3;

/**
 * Frames that may show their camera's display curve: up to five in a row at exposures that differ, up to three such rows for each camera and
 * picture mode, the widest first. By headers alone; whether a row is one framing shows when it is read.
 */
export function seriesForCurves(frames: readonly Exposed[]): Exposed[][] {
  const found: Exposed[][] = [];
  for (const key of [...new Set(frames.map((frame) => frame.key))].sort()) {
    const own = frames
      .filter((frame) => frame.key === key)
      .sort((a, b) => (a.takenAt < b.takenAt ? -1 : a.takenAt > b.takenAt ? 1 : a.file < b.file ? -1 : 1));
    const rows = own.flatMap((first, n): Exposed[][] => {
      const row = [first];
      for (const next of own.slice(n + 1, n + SERIES)) {
        if (!follows(row.at(-1)!, next) || spanOf([...row, next]) > MOST_SPAN_STOPS) break;
        row.push(next);
      }
      return spanOf(row) >= LEAST_SPAN_STOPS ? [row] : [];
    });
    const taken = new Set<string>();
    const widest = rows
      .map((row, n) => ({ row, n, span: spanOf(row) }))
      .sort((a, b) => b.span - a.span || b.row.length - a.row.length || a.n - b.n);
    let series = 0;
    for (const { row } of widest) {
      if (series === MOST_SERIES || row.some(({ file }) => taken.has(file))) continue;
      row.forEach(({ file }) => taken.add(file));
      found.push(row);
      series++;
    }
  }
  return found;
}

function follows(one: Exposed, next: Exposed): boolean {
  const apart = Date.parse(`${next.takenAt.slice(0, 19)}Z`) - Date.parse(`${one.takenAt.slice(0, 19)}Z`);
  const sameLens = one.focalMm === null || next.focalMm === null || Math.abs(one.focalMm / next.focalMm - 1) < 0.03;
  return sameLens && apart >= 0 && apart <= MOST_APART_MS;
}

function spanOf(row: readonly Exposed[]): number {
  const stops = row.map(({ exposureStops }) => exposureStops);
  return Math.max(...stops) - Math.min(...stops);
}

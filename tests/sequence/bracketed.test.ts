import { describe, expect, it } from 'vitest';
import { seriesForCurves, type Exposed } from '../../src/sequence/bracketed.js';

function shot(n: number, exposureStops: number, changes: Partial<Exposed> = {}): Exposed {
  const takenAt = new Date(Date.UTC(2026, 6, 14, 22, n)).toISOString().slice(0, 19);
  return { file: `f${String(n).padStart(2, '0')}`, key: 'one', takenAt, focalMm: 14, exposureStops, ...changes };
}

const namesOf = (series: Exposed[][]): string[][] => series.map((row) => row.map(({ file }) => file));

describe('series that may show a curve', () => {
  it('are frames in a row whose exposures differ by more than seven tenths of a stop and less than four', () => {
    expect(namesOf(seriesForCurves([shot(1, 8), shot(0, 7), shot(2, 9)]))).toEqual([['f00', 'f01', 'f02']]);
    expect(seriesForCurves([shot(0, 8), shot(1, 8.3), shot(2, 8.6)])).toEqual([]);
    expect(seriesForCurves([shot(0, 3), shot(1, 8)])).toEqual([]);
  });

  it('do not reach over a long pause, another lens or another camera', () => {
    expect(seriesForCurves([shot(0, 7), shot(40, 9)])).toEqual([]);
    expect(seriesForCurves([shot(0, 7), shot(1, 9, { focalMm: 24 })])).toEqual([]);
    expect(seriesForCurves([shot(0, 7), shot(1, 9, { key: 'two' })])).toEqual([]);
  });

  it('are three at most of a camera, the widest first, no frame twice', () => {
    const night = Array.from({ length: 60 }, (_, n) => shot(n, 6 + (n % 4) * 0.5));
    const series = seriesForCurves(night);
    expect(series.length).toBe(3);
    const files = series.flat().map(({ file }) => file);
    expect(new Set(files).size).toBe(files.length);
    expect(seriesForCurves([...night].reverse())).toEqual(series);
  });
});

import { describe, expect, it } from 'vitest';
import type { Grid } from '../../src/model/regions.js';
import { findSources } from '../../src/segment/sources.js';

const [WIDTH, HEIGHT] = [600, 400];
/** Everything lies under the horizon. */
const sky = new Uint8Array(WIDTH * HEIGHT);

/** One burnt shape on dark land: what is found, with the network's log odds of a source there. */
function found(isIn: (x: number, y: number) => boolean, odds: number | null): string[] {
  const burnt = Uint8Array.from({ length: WIDTH * HEIGHT }, (_, i) =>
    isIn((i % WIDTH) - 300, Math.floor(i / WIDTH) - 200) ? 1 : 0,
  );
  const plane = Float32Array.from(burnt, (own) => (own === 1 ? 1 : 0.01));
  const grid: Grid = {
    width: WIDTH,
    height: HEIGHT,
    blockPx: 4,
    luminance: plane,
    red: plane,
    green: plane,
    blue: plane,
  };
  const seen = odds === null ? null : new Float32Array(WIDTH * HEIGHT).fill(odds);
  return findSources(grid, sky, burnt, seen).sources.map(({ kind }) => kind);
}

const disc = (x: number, y: number): boolean => Math.hypot(x, y) < 9;
const rock = (x: number, y: number): boolean => Math.abs(x) < 24 && Math.abs(y - x / 2) < 7 + (x % 5);
const blade = (x: number, y: number): boolean => Math.abs(x) < 45 && Math.abs(y - x ** 2 / 120) < 3;
const band = (x: number, y: number): boolean => Math.abs(x) < 45 && Math.abs(y) < 6;

describe('burnt shapes under the horizon', () => {
  it('are lamps where they are round, with a network or without', () => {
    expect(found(disc, -3)).toEqual(['lamp']);
    expect(found(disc, null)).toEqual(['lamp']);
  });

  it('are rocks where they have a shape of their own', () => {
    expect(found(rock, 0.5)).toEqual([]);
    expect(found(rock, null)).toEqual([]);
  });

  it('are blades where they are slender, unless the network is against it', () => {
    expect(found(blade, 0)).toEqual(['streak']);
    expect(found(blade, null)).toEqual(['streak']);
    expect(found(blade, -2.5)).toEqual([]);
  });

  it('are blades as thick as a lit band of grass only where the network is sure', () => {
    expect(found(band, 3)).toEqual(['streak']);
    expect(found(band, 0)).toEqual([]);
  });
});

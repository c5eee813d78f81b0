import { describe, expect, it } from 'vitest';
import { randomScene } from '../../src/scene/randomScene.js';
import { figuresOf, type Figures } from './summary.js';
import { TOLERANCES } from './tolerances.js';
import { tryScene, type Trial } from './trial.js';

const SIZE = { widthPx: 1944, heightPx: 1296 };

/** Two scenes of each of the six kinds of foreground, as sRGB JPEG with the lamps noted. */
const SEEDS = [2000, 2001, 2002, 2003, 2004, 2005, 2006, 2007, 2008, 2009, 2010, 2011];

describe('accuracy on scenes with known truth', () => {
  let figures: Figures;
  it('tries the scenes', async () => {
    const trials: Trial[] = [];
    for (const seed of SEEDS) trials.push(await tryScene(randomScene(seed, SIZE), 'jpeg', true, undefined, 2));
    figures = figuresOf(trials);
    expect(figures.trials).toBe(SEEDS.length);
  }, 400_000);

  it.each(TOLERANCES)('$target', ({ figure, atLeast, atMost }) => {
    const value = figures[figure];
    expect(Number.isFinite(value)).toBe(true);
    if (atLeast !== undefined) expect(value).toBeGreaterThanOrEqual(atLeast);
    if (atMost !== undefined) expect(value).toBeLessThanOrEqual(atMost);
  });
});

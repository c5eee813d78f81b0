import { GLYPH_ADVANCE, GLYPH_HEIGHT } from './glyphs.js';
import type { Sheet } from './sheet.js';

interface Spot {
  readonly x: number;
  readonly y: number;
}

/** Room left round a label, pixels. */
const GAP = 3;

/** Writes labels where they lie on no other label and on as few of the given points as may be. */
export class LabelPlaces {
  readonly #taken: { x: number; y: number; width: number; height: number }[] = [];

  /** Labels stay in the upper `height` of the sheet. `keepFree`: points of lines that they should not cover. */
  constructor(
    private readonly sheet: Sheet,
    private readonly height: number,
    private readonly letter: number,
    private readonly keepFree: readonly Spot[] = [],
  ) {}

  /** The first of the corners (left upper corner of the words) that is best; corners beyond the sheet are moved in. */
  write(words: string, corners: (width: number, height: number) => readonly Spot[]): void {
    const width = words.length * GLYPH_ADVANCE * this.letter;
    const height = GLYPH_HEIGHT * this.letter;
    const inside = corners(width, height).map(({ x, y }) => ({
      x: Math.max(2, Math.min(this.sheet.width - width - 2, x)),
      y: Math.max(2, Math.min(this.height - height - 2, y)),
      width,
      height,
    }));
    const best = inside.reduce((least, own) => (this.#harm(own) < this.#harm(least) ? own : least));
    this.#taken.push(best);
    this.sheet.text(best.x, best.y, words, this.letter);
  }

  #harm({ x, y, width, height }: Spot & { readonly width: number; readonly height: number }): number {
    const covered = this.keepFree.filter(
      (own) => own.x > x - GAP && own.x < x + width + GAP && own.y > y - GAP && own.y < y + height + GAP,
    ).length;
    const onOthers = this.#taken.filter(
      (own) =>
        own.x < x + width + GAP &&
        own.x + own.width > x - GAP &&
        own.y < y + height + GAP &&
        own.y + own.height > y - GAP,
    ).length;
    return covered + 1000 * onOthers;
  }
}

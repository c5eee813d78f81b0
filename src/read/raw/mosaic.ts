/** Filter colours by number: 0 red, 1 green, 2 blue. */
export const GREEN = 1;

/** A repeating square of numbers, row-major, from the picture's top-left. */
export interface Repeating {
  readonly rows: number;
  readonly columns: number;
  readonly values: readonly number[];
}

/** The sensor's own numbers inside the picture area, not yet upright. */
export interface Mosaic {
  readonly data: Uint16Array;
  readonly width: number;
  readonly height: number;
  /** Filter colour by place: 2 x 2 (Bayer) or 6 x 6. */
  readonly filters: Repeating;
  /** Level without light, by place in a repeating square; rows and columns may add their own. */
  readonly black: Repeating;
  readonly blackRows: readonly number[];
  readonly blackColumns: readonly number[];
  /** Saturated level of red, green and blue sites as the header has it. */
  readonly white: readonly [number, number, number];
  /** Turn that makes it upright: 0, 3 (half), 5 (quarter, anticlockwise), 6 (quarter, clockwise). */
  readonly flip: number;
}

export function at(pattern: Repeating, row: number, column: number): number {
  return pattern.values[(row % pattern.rows) * pattern.columns + (column % pattern.columns)]!;
}

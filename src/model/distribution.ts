/** How a region's light is spread: shares of its area in quarter stops from `lowestStops` up, the last at clipping. */
export interface Distribution {
  readonly lowestStops: number;
  readonly stepStops: number;
  readonly sky: readonly number[];
  readonly painted: readonly number[];
  readonly unlit: readonly number[];
}

/** Painted light by distance in the picture from its hottest place. */
export interface GroundProfile {
  /** Middle of each ring, part of the frame's width, and median level there, stops under the hottest place. */
  readonly rings: readonly { readonly radius: number; readonly stops: number }[];
  /**
   * Radius at which a lamp over flat ground (I cos(theta) / d^2 = I h / (h^2 + r^2)^1.5) falls as these rings do: the lamp's height in the
   * same measure. Null when they do not fall.
   */
  readonly lampHeight: number | null;
}

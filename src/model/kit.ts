/** One frame's word on how strong a lamp is. */
interface KitSample {
  /** Camera, moment and name of the frame: the same frame read again counts once. */
  readonly mark: string;
  /** At full power. */
  readonly candela: number;
  /** One standard deviation of this frame's reading, stops. */
  readonly spreadStops: number;
}

/** A lamp of the photographer's, as frames lit by it have shown it. */
export interface KitLamp {
  readonly name: string;
  readonly kind: 'held' | 'stand';
  /** Oldest first. */
  readonly samples: readonly KitSample[];
}

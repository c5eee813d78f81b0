/** Twilights of a night, ISO 8601 in the place's zone; null where the Sun does not come to that depth. */
export interface PlanTwilight {
  readonly sunset: string | null;
  readonly civilDusk: string | null;
  readonly nauticalDusk: string | null;
  readonly astronomicalDusk: string | null;
  readonly astronomicalDawn: string | null;
  readonly nauticalDawn: string | null;
  readonly civilDawn: string | null;
  readonly sunrise: string | null;
}

export interface PlanHour {
  readonly at: string;
  readonly sunAltitudeDeg: number;
  readonly moonAltitudeDeg: number;
  readonly altitudeDeg: number;
  readonly azimuthDeg: number;
  /** Expected brightness of the sky where the core is (or 30 degrees up below it), magnitudes per square arcsecond; null by day. */
  readonly skyMagnitude: number | null;
}

/** A lamp whose light is known from its box. */
export interface PlanLamp {
  readonly name: string;
  readonly kind: 'held' | 'stand';
  readonly intensityCd: number;
  readonly distanceM: number;
  readonly power: number;
  /** Held lamps: the count. */
  readonly seconds: number | null;
  /** Stand lamps: the part of that power that is wanted, at that distance; over 1 the lamp is too weak there. */
  readonly powerWanted: number | null;
  /** One standard deviation. */
  readonly uncertaintyStops: number;
  readonly says: string;
}

export interface Plan {
  readonly schema: 'paintstop.plan/1';
  readonly date: string;
  readonly place: { readonly latitudeDeg: number; readonly longitudeDeg: number };
  readonly zone: string | null;
  readonly twilight: PlanTwilight;
  readonly lowestSunDeg: number;
  readonly moon: {
    readonly rise: string | null;
    readonly set: string | null;
    readonly litFraction: number;
    readonly says: string;
  };
  readonly core: readonly PlanHour[];
  /** Sun under -18 degrees and Moon down. */
  readonly darkWindows: readonly { readonly from: string; readonly to: string }[];
  readonly best: { readonly at: string; readonly altitudeDeg: number; readonly azimuthDeg: number } | null;
  readonly says: string;
  readonly start: {
    readonly iso: number;
    readonly aperture: number;
    readonly shutterSeconds: number;
    /** Level of the sky that these settings give, stops from clipping. */
    readonly skyStops: number;
    readonly uncertaintyStops: number;
    readonly why: string;
  } | null;
  readonly lamps: readonly PlanLamp[];
}

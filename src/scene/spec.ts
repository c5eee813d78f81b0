/** A synthetic night: everything that decides its light, so that a frame can be shot again with other settings. */
export const FOREGROUND_KINDS = ['ridge', 'tree', 'ruin', 'figure', 'water', 'fence'] as const;
export type ForegroundKind = (typeof FOREGROUND_KINDS)[number];

export interface SceneLamp {
  readonly name: string;
  readonly kind: 'held' | 'stand';
  /** Seconds of light inside the exposure; ignored for a stand lamp. */
  readonly seconds: number;
  /** Metres from the lamp to the subject. */
  readonly distanceM: number;
  /** Fraction of full power. */
  readonly power: number;
  /** Where the lamp stands as seen from the subject: 0 towards the camera, 90 to the right, 180 behind. */
  readonly bearingDeg: number;
  readonly heightM: number;
  /** Painted level, in stops, that this lamp alone gives the subject's surroundings at the scene's first settings. */
  readonly levelStops: number;
  /** Linear R G B of the lamp, green = 1. */
  readonly colour: readonly [number, number, number];
  /** Half-intensity half-angle of the beam, degrees; 0 = bare lamp. */
  readonly beamDeg: number;
  /** The lamp itself is in the picture. */
  readonly visible: boolean;
}

export interface SceneSettings {
  readonly iso: number;
  readonly shutterSeconds: number;
  readonly aperture: number;
}

export interface SceneSpec {
  readonly seed: number;
  readonly kind: ForegroundKind;
  readonly widthPx: number;
  readonly heightPx: number;
  readonly focalMm: number;
  readonly pixelPitchUm: number;
  readonly settings: SceneSettings;
  readonly lamps: readonly SceneLamp[];
  /** Level of the sky background's median at the first settings. */
  readonly skyStops: number;
  /** Ambient light on the ground relative to the sky, in stops (about -2 on a dark night, +1 under a high Moon). */
  readonly ambientStops: number;
  readonly milkyWay: number;
  readonly glow: number;
  readonly glowColour: readonly [number, number, number];
  readonly skyColour: readonly [number, number, number];
  readonly moon: boolean;
  readonly cloud: number;
  readonly latitudeDeg: number;
  readonly siderealDeg: number;
  readonly azimuthDeg: number;
  readonly altitudeDeg: number;
  /** Point spread of the lens, full width at half maximum, pixels. */
  readonly starFwhmPx: number;
  /** Extra second moment from a shaken tripod: length in pixels and direction (degrees, x right to y down). */
  readonly shakePx: number;
  readonly shakeDeg: number;
  /** Diameter of the blur disc of a lens out of focus, pixels. */
  readonly defocusPx: number;
  /** Radial smear at the frame's corner, pixels. */
  readonly comaPx: number;
  readonly vignetteStops: number;
  /** Photoelectrons at clipping at ISO 1600. */
  readonly fullScaleElectrons: number;
  readonly readNoiseElectrons: number;
  readonly blade: boolean;
  readonly headlamp: boolean;
  /** Left out: the six kinds alone, under a clear sky or thin cloud. */
  readonly wider?: WiderSpec;
}

export const OUTLINES = ['none', 'forest', 'town', 'rocks', 'smooth', 'mast', 'cave', 'canopy', 'people'] as const;
export type Outline = (typeof OUTLINES)[number];

/** What nights bring beyond the six kinds: other outlines, haze, twilight, cloud, aurora-like glow, snow, town lights. */
export interface WiderSpec {
  readonly outline: Outline;
  /** Rise and roughness of the skyline, parts of the frame's height. */
  readonly rise: number;
  readonly rough: number;
  /** Ridges behind the skyline, each paler with haze (0 to 1). */
  readonly farRidges: number;
  readonly haze: number;
  /** Light at the horizon relative to the sky's own, fading upward. */
  readonly twilight: number;
  readonly twilightColour: readonly [number, number, number];
  readonly aurora: number;
  /** Share of the sky under opaque cloud, 0 to 1, its light relative to the sky's, and its colour. */
  readonly overcast: number;
  readonly overcastLight: number;
  readonly overcastColour: readonly [number, number, number];
  /** The cloud is drawn out by its drift. */
  readonly drift: boolean;
  readonly townLights: number;
  /** Town lights light the land round them, and houses have lit windows. */
  readonly lit: boolean;
  /** Reflectance of the land, times that of bare ground. */
  readonly snow: number;
  /** Strength of the land's texture (1 = as in the six kinds), and the size of its smaller marks. */
  readonly relief: number;
  readonly markPx: number;
  /** Moss, soil, stone: patches of land whose reflectance differs by about `stops`, and its log2(R/B) by about `warmth`, of that size. */
  readonly patches: { readonly stops: number; readonly warmth: number; readonly sizePx: number };
  /** How unevenly a torch was swept, stops. */
  readonly swept: number;
}

/** Row-major R G B interleaved linear light. */
export type LightPlane = Float32Array;

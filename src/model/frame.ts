/** What the metadata says about how a frame was taken. `null` is "not known", never zero. */
export interface Settings {
  readonly iso: number | null;
  readonly shutterSeconds: number | null;
  readonly aperture: number | null;
  /** True focal length, not the 35 mm equivalent. */
  readonly focalMm: number | null;
  /** Photosite pitch at the size of this file (rescaled when the file was resized). */
  readonly pixelPitchUm: number | null;
  readonly widthPx: number;
  readonly heightPx: number;
  /** ISO 8601; without a zone suffix when the camera recorded none. */
  readonly takenAt: string | null;
  readonly camera: string | null;
  readonly lens: string | null;
  readonly position: { readonly latitudeDeg: number; readonly longitudeDeg: number } | null;
}

export type Container = 'jpeg' | 'png' | 'tiff' | 'raw';
/** How stored values were turned into light: the sRGB curve, an ICC curve, none (linear), or a camera's own curve fitted earlier. */
export type Response = 'srgb' | 'icc' | 'linear' | 'camera';

/** Where a raw frame's levels come from: stored numbers of the sensor. */
interface Sensor {
  /** Filter colours of the repeating square, row by row, not turned upright. */
  readonly filters: string;
  /** Level without light, by place in its repeating square. */
  readonly black: readonly number[];
  /** Saturated level of red, green and blue. */
  readonly white: readonly number[];
  /** From the header, or from the frame itself where the header is wrong. */
  readonly whiteFrom: 'header' | 'data';
}

export interface Encoding {
  readonly container: Container;
  readonly bitsPerChannel: number;
  readonly response: Response;
  /** How far a level may be from the light that fell on the sensor, one standard deviation, in stops. */
  readonly levelUncertaintyStops: number;
  /** Raw frames only. */
  readonly sensor?: Sensor;
}

export interface Warning {
  readonly code: string;
  readonly message: string;
}

export type Samples = Uint8Array | Uint16Array | Float32Array;

/**
 * A decoded frame, upright (EXIF orientation applied). `samples` is row-major, interleaved R G B, `widthPx * heightPx * 3`.
 * `toLinear[c][sample]` is linear light of the file's own primaries, 1 = clipping; for 32-bit files samples are linear already.
 * `toSrgbPrimaries` (row-major 3 x 3) carries linear file primaries to linear sRGB primaries; `null` when they are the same.
 */
export interface Frame {
  readonly file: string;
  readonly widthPx: number;
  readonly heightPx: number;
  readonly samples: Samples;
  readonly toLinear: readonly [Float32Array, Float32Array, Float32Array];
  readonly toSrgbPrimaries: readonly number[] | null;
  /** Parts of linear red, green and blue in luminance: IEC 61966-2-1; for raw frames green alone. */
  readonly luminanceWeights: readonly [number, number, number];
  /** Gains that make white neutral, where samples are not: for the telling of colours and for pictures, never for levels. */
  readonly balance: readonly [number, number, number];
  /** Raw frames: which colour (0 red, 1 green, 2 blue) each site really saw, in a repeating square from the upright top-left. */
  readonly filters?: { readonly rows: number; readonly columns: number; readonly values: readonly number[] };
  /** A stored sample at or above this is clipped (contract: 254 of 255, 65278 of 65535). */
  readonly clipSample: number;
  /** A stored sample at or under this holds next to no light. */
  readonly crushedSample: number;
  readonly encoding: Encoding;
  readonly settings: Settings;
  readonly warnings: readonly Warning[];
}

/** Where a body of the sky is at a moment, seen through a camera that stands where the frame was taken. */
export interface TrackPoint {
  /** ISO 8601, in the frame's own zone; without a suffix when that is not known. */
  readonly at: string;
  /** Upright pixels; null where the lens does not look. */
  readonly x: number | null;
  readonly y: number | null;
  /** Null when the place is not known. */
  readonly altitudeDeg: number | null;
  readonly azimuthDeg: number | null;
  readonly seen: 'sky' | 'behind-ground' | 'out-of-frame' | 'below-horizon';
}

export interface BodyTrack {
  readonly body: string;
  readonly track: readonly TrackPoint[];
  /** When it stands over the subject, in the sky of this framing; null when it does not that night. */
  readonly overSubjectAt: string | null;
  readonly overSubjectAltitudeDeg: number | null;
  readonly says: string;
}

/** What is left of a night for one framing. */
export interface Outlook {
  readonly overSubjectAt: string | null;
  readonly leavesSkyAt: string | null;
  /** The Sun comes to 18 degrees under the horizon. */
  readonly darkEndsAt: string | null;
  readonly says: string;
}

/** How the stars should be drawn out, and how they are. */
export interface TrailCheck {
  readonly predictedMedianPx: number;
  readonly predictedWorstPx: number;
  /** Measured along the way that the sky turns; null with too few stars. */
  readonly measuredPx: number | null;
  /** What rotation does not explain: shake, focus, coma, sampling. */
  readonly restPx: number | null;
  readonly says: string;
}

/** Longest shutter within the allowed trail, for each cell of a coarse grid over the frame, rows from the top. */
export interface ShutterMap {
  readonly trailPxAllowed: number;
  readonly columns: number;
  readonly rows: number;
  /** Seconds; null where the cell shows no sky. */
  readonly seconds: readonly (number | null)[];
  readonly shortestSeconds: number;
  readonly medianSeconds: number;
  readonly longestSeconds: number;
}

export interface SkyReading {
  readonly schema: 'paintstop.sky/1';
  readonly file: string;
  readonly solved: boolean;
  /** Why not, in one sentence. */
  readonly why: string | null;
  /** Direction of the image centre at mid-exposure, J2000. */
  readonly centre: { readonly raDeg: number; readonly decDeg: number } | null;
  /** From image up to celestial north, positive from up towards right. */
  readonly rollDeg: number | null;
  readonly scaleArcsecPerPx: number | null;
  readonly projection: string | null;
  /** In pixels of this file. */
  readonly focalPx: number | null;
  readonly distortion: readonly [number, number] | null;
  readonly residualPx: number | null;
  readonly matched: number | null;
  /** 0 to 1, from how unlikely the agreement is by chance. */
  readonly confidence: number;
  /** Compass and level of the camera; null without place and time. */
  readonly aim: { readonly azimuthDeg: number; readonly altitudeDeg: number; readonly tiltDeg: number } | null;
  readonly trail: TrailCheck | null;
  readonly shutterMap: ShutterMap | null;
  readonly subject: { readonly x: number; readonly y: number | null; readonly from: 'given' | 'painted' } | null;
  readonly core: BodyTrack | null;
  /** Another body that was asked for. */
  readonly other: BodyTrack | null;
  /** The frame's clock less the sky's; null when it cannot be told. */
  readonly clockOffsetMinutes: number | null;
  readonly clockSays: string | null;
}

import { angleAt, radiusAt, type Projection } from './lens.js';
import { rotate, unrotate, type Rotation, type Vector } from './projection.js';

/**
 * A camera under the sky. `toCamera` carries equatorial axes (J2000) to camera axes (x right, y down, z forward). The radius of the
 * projection is stretched by 1 + k1 s + k2 s^2, s the square of the radius over half the diagonal of the frame.
 */
export interface Camera {
  readonly toCamera: Rotation;
  readonly projection: Projection;
  readonly focalPx: number;
  readonly distortion: readonly [number, number];
  readonly widthPx: number;
  readonly heightPx: number;
  /** Where the lens' axis meets the frame; its middle unless the frame was cropped. */
  readonly axis: Spot;
}

export interface Spot {
  readonly x: number;
  readonly y: number;
}

/** Where a direction (J2000 unit vector) lands: upright pixels, the middle of the first pixel is 0, 0. Null behind the lens. */
export function spotOf(camera: Camera, direction: Vector): Spot | null {
  return spotOfRay(camera, rotate(camera.toCamera, direction));
}

/** The same for a direction in camera axes. */
function spotOfRay(
  { projection, focalPx, distortion, widthPx, heightPx, axis }: Omit<Camera, 'toCamera'>,
  v: Vector,
): Spot | null {
  const across = Math.hypot(v[0], v[1]);
  const radius = radiusAt(projection, Math.atan2(across, v[2]));
  if (radius === null) return null;
  const s = (radius * focalPx) ** 2 / ((widthPx * widthPx + heightPx * heightPx) / 4);
  // Beyond a frame and a half the stretch is no longer of this lens.
  if (s > 2.4) return null;
  const stretched = radius * focalPx * (1 + distortion[0] * s + distortion[1] * s * s);
  const part = across > 1e-12 ? stretched / across : focalPx;
  return { x: axis.x + part * v[0], y: axis.y + part * v[1] };
}

/** The ray of a pixel in camera axes; null where none lands. */
export function rayOf(
  { projection, focalPx, distortion, widthPx, heightPx, axis }: Omit<Camera, 'toCamera'>,
  { x, y }: Spot,
): Vector | null {
  const dx = x - axis.x;
  const dy = y - axis.y;
  const seen = Math.hypot(dx, dy);
  const diagonal = (widthPx * widthPx + heightPx * heightPx) / 4;
  let plain = seen;
  for (let n = 0; n < 12 && (distortion[0] !== 0 || distortion[1] !== 0); n++) {
    const s = (plain * plain) / diagonal;
    plain = seen / Math.max(0.3, 1 + distortion[0] * s + distortion[1] * s * s);
  }
  const theta = angleAt(projection, plain / focalPx);
  if (theta === null) return null;
  const part = seen > 1e-9 ? Math.sin(theta) / seen : 0;
  return [dx * part, dy * part, Math.cos(theta)];
}

/** The direction (J2000) that a pixel sees. */
export function directionOf(camera: Camera, spot: Spot): Vector | null {
  const ray = rayOf(camera, spot);
  return ray === null ? null : unrotate(camera.toCamera, ray);
}

/**
 * How shapes of stars vary over a frame: by the sky's rotation, a shaken camera, or coma. A shape is a "spin-2" pair
 * (p, q) = L^2 (cos 2t, sin 2t), L trail length in pixels and t its direction: independent of which end came first.
 */
export interface Spin {
  readonly p: number;
  readonly q: number;
}

/** Unit vector of a point of the sphere as three numbers. */
export type Axis = readonly [number, number, number];

/**
 * Trail of a star at (x, y) pixels from the centre of a rectilinear frame of focal length `focalPx`, when the sky turns by `angle`
 * radians about `axis` (camera axes: x right, y down, z forward). The direction d = (x, y, f) moves by angle x axis x d;
 * projected, u = (m_x - x m_z / f, m_y - y m_z / f).
 */
export function rotationTrail(
  x: number,
  y: number,
  focalPx: number,
  axis: Axis,
  angle: number,
): { dx: number; dy: number } {
  const mx = axis[1] * focalPx - axis[2] * y;
  const my = axis[2] * x - axis[0] * focalPx;
  const mz = axis[0] * y - axis[1] * x;
  return { dx: angle * (mx - (x * mz) / focalPx), dy: angle * (my - (y * mz) / focalPx) };
}

export function spinOf(dx: number, dy: number): Spin {
  return { p: dx * dx - dy * dy, q: 2 * dx * dy };
}

/** About `count` axes spread evenly over a hemisphere (an axis and its opposite trail alike). */
export function axesOverHemisphere(count: number): Axis[] {
  const golden = Math.PI * (3 - Math.sqrt(5));
  return Array.from({ length: count }, (_, n) => {
    const z = 1 - (n + 0.5) / count;
    const r = Math.sqrt(1 - z * z);
    return [r * Math.cos(n * golden), r * Math.sin(n * golden), z] as const;
  });
}

export type Vector = readonly [number, number, number];

/** Unit vector of a direction; longitude and latitude in degrees. */
export function unitVector(longitudeDeg: number, latitudeDeg: number): Vector {
  const longitude = (longitudeDeg * Math.PI) / 180;
  const latitude = (latitudeDeg * Math.PI) / 180;
  return [Math.cos(latitude) * Math.cos(longitude), Math.cos(latitude) * Math.sin(longitude), Math.sin(latitude)];
}

/** Row-major 3 x 3. */
export type Rotation = readonly [number, number, number, number, number, number, number, number, number];

export function rotate(m: Rotation, v: Vector): Vector {
  return [
    m[0] * v[0] + m[1] * v[1] + m[2] * v[2],
    m[3] * v[0] + m[4] * v[1] + m[5] * v[2],
    m[6] * v[0] + m[7] * v[1] + m[8] * v[2],
  ];
}

/** The turn back: the transpose. */
export function inverse(m: Rotation): Rotation {
  return [m[0], m[3], m[6], m[1], m[4], m[7], m[2], m[5], m[8]];
}

export function unrotate(m: Rotation, v: Vector): Vector {
  return rotate(inverse(m), v);
}

/** First `b`, then `a`. */
export function multiply(a: Rotation, b: Rotation): Rotation {
  return Array.from({ length: 9 }, (_, n) => {
    const row = n - (n % 3);
    const column = n % 3;
    return a[row]! * b[column]! + a[row + 1]! * b[3 + column]! + a[row + 2]! * b[6 + column]!;
  }) as unknown as Rotation;
}

/** Turn about a unit vector by an angle in radians, right-handed (Rodrigues). */
export function turnAbout([x, y, z]: Vector, angle: number): Rotation {
  const s = Math.sin(angle);
  const c = Math.cos(angle);
  const t = 1 - c;
  return [
    c + t * x * x,
    t * x * y - s * z,
    t * x * z + s * y,
    t * x * y + s * z,
    c + t * y * y,
    t * y * z - s * x,
    t * x * z - s * y,
    t * y * z + s * x,
    c + t * z * z,
  ];
}

/** Longitude (0 to 360) and latitude of a direction, degrees. */
export function longitudeLatitude([x, y, z]: Vector): { longitudeDeg: number; latitudeDeg: number } {
  return {
    longitudeDeg: ((Math.atan2(y, x) * 180) / Math.PI + 360) % 360,
    latitudeDeg: (Math.asin(Math.max(-1, Math.min(1, z / Math.hypot(x, y, z)))) * 180) / Math.PI,
  };
}

/**
 * Equatorial (hour angle east negative folded into `siderealDeg`) to local axes: x east, y north, z up.
 * Standard spherical astronomy (Meeus, Astronomical Algorithms 2nd ed., ch. 13).
 */
export function equatorialToLocal(siderealDeg: number, latitudeDeg: number): Rotation {
  const s = (siderealDeg * Math.PI) / 180;
  const p = (latitudeDeg * Math.PI) / 180;
  return [
    -Math.sin(s),
    Math.cos(s),
    0,
    -Math.sin(p) * Math.cos(s),
    -Math.sin(p) * Math.sin(s),
    Math.cos(p),
    Math.cos(p) * Math.cos(s),
    Math.cos(p) * Math.sin(s),
    Math.sin(p),
  ];
}

/** Local axes to camera axes (x right, y down, z forward) for a level camera looking to `azimuthDeg` (north through east), up by `altitudeDeg`. */
export function localToCamera(azimuthDeg: number, altitudeDeg: number): Rotation {
  const a = (azimuthDeg * Math.PI) / 180;
  const h = (altitudeDeg * Math.PI) / 180;
  return [
    Math.cos(a),
    -Math.sin(a),
    0,
    Math.sin(h) * Math.sin(a),
    Math.sin(h) * Math.cos(a),
    -Math.cos(h),
    Math.cos(h) * Math.sin(a),
    Math.cos(h) * Math.cos(a),
    Math.sin(h),
  ];
}

/** Rectilinear image: x = f X / Z. Null behind the camera. Pixels from the image centre. */
export function projectRectilinear(v: Vector, focalPx: number): { x: number; y: number } | null {
  if (v[2] <= 0.02) return null;
  return { x: (focalPx * v[0]) / v[2], y: (focalPx * v[1]) / v[2] };
}

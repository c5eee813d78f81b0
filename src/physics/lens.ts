/**
 * Projections of lenses: how far from the image centre a ray lands that makes the angle theta with the axis, in focal lengths (PanoTools
 * wiki, "Fisheye projection"; references 4.1). Rectilinear tan, equidistant theta, equisolid 2 sin(theta/2), stereographic 2 tan(theta/2).
 */
export const PROJECTIONS = ['rectilinear', 'equisolid', 'equidistant', 'stereographic'] as const;
export type Projection = (typeof PROJECTIONS)[number];

/** Widest ray that is followed, radians: a rectilinear image ends before 90 degrees. */
const WIDEST: Readonly<Record<Projection, number>> = {
  rectilinear: 1.45,
  equisolid: 1.95,
  equidistant: 1.95,
  stereographic: 1.95,
};

/** Radius over focal length; null beyond what the projection shows. */
export function radiusAt(projection: Projection, theta: number): number | null {
  if (theta > WIDEST[projection]) return null;
  switch (projection) {
    case 'rectilinear':
      return Math.tan(theta);
    case 'equisolid':
      return 2 * Math.sin(theta / 2);
    case 'equidistant':
      return theta;
    case 'stereographic':
      return 2 * Math.tan(theta / 2);
  }
}

/** The angle from the axis, radians, of a radius over focal length; null where no ray lands. */
export function angleAt(projection: Projection, radius: number): number | null {
  const theta =
    projection === 'rectilinear'
      ? Math.atan(radius)
      : projection === 'equidistant'
        ? radius
        : projection === 'stereographic'
          ? 2 * Math.atan(radius / 2)
          : radius < 2
            ? 2 * Math.asin(radius / 2)
            : Number.POSITIVE_INFINITY;
  return theta > WIDEST[projection] ? null : theta;
}

/** d(radius) / d(theta) over focal length. */
export function radialScale(projection: Projection, theta: number): number {
  switch (projection) {
    case 'rectilinear':
      return 1 / Math.cos(theta) ** 2;
    case 'equisolid':
      return Math.cos(theta / 2);
    case 'equidistant':
      return 1;
    case 'stereographic':
      return 1 / Math.cos(theta / 2) ** 2;
  }
}

import { describe, expect, it } from 'vitest';
import { seededRandom } from '../../src/math/random.js';
import { findCause, type FieldGeometry } from '../../src/measure/stars/cause.js';
import type { StarShape } from '../../src/measure/stars/shape.js';
import { rotationTrail, type Axis } from '../../src/physics/starField.js';

const GEOMETRY: FieldGeometry = { centreX: 1296, centreY: 864, halfDiagonal: 1557, focalPx: 1300, shutterSeconds: 12 };
const AXIS: Axis = [0.2, 0.75, 0.63];
/** What the sky turns by: 15.041 arcseconds a second (references: section 6). */
const ANGLE = ((15.041 * 12) / 3600) * (Math.PI / 180);

/** A field of stars 1.6 pixels wide, each drawn out along the sky's turning by `times` what it draws. */
function field(times: number): StarShape[] {
  const random = seededRandom(5);
  return Array.from({ length: 60 }, (): StarShape => {
    const [x, y] = [random.between(20, 2570), random.between(20, 1700)];
    const { dx, dy } = rotationTrail(x - GEOMETRY.centreX, y - GEOMETRY.centreY, GEOMETRY.focalPx!, AXIS, ANGLE);
    // A trail of length L adds L^2 / 12 to the second moment along it.
    const b = 0.7;
    const along = (times ** 2 * (dx ** 2 + dy ** 2)) / 12;
    const [xx, yy, xy] = [
      b ** 2 + (times ** 2 * dx * dx) / 12,
      b ** 2 + (times ** 2 * dy * dy) / 12,
      (times ** 2 * dx * dy) / 12,
    ];
    const directionDeg = (Math.atan2(dy, dx) * 180) / Math.PI;
    return { x, y, a: Math.sqrt(b ** 2 + along), b, directionDeg, xx, yy, xy, fluxOverNoise: 100, hollow: false };
  });
}

describe('the cause of drawn-out stars', () => {
  it('is the turning of the sky where that draws as much', () => {
    const long = { ...GEOMETRY, shutterSeconds: 40 };
    expect(findCause(field(3.3), long).cause).toBe('trailing');
  });

  it('is not the turning of the sky where that cannot draw a trail that anybody sees', () => {
    // 12 s draw 1.1 pixels at this focal length at most.
    expect(findCause(field(1.4), GEOMETRY).cause).not.toBe('trailing');
  });
});

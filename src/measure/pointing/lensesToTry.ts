import type { Camera, Spot } from '../../physics/camera.js';
import { angleAt, radialScale } from '../../physics/lens.js';

/** What is known of the frame beside its points. */
export interface View {
  readonly widthPx: number;
  readonly heightPx: number;
  /** From the metadata; null: searched. */
  readonly focalPx: number | null;
  /** Whether a pixel sees the sky. */
  isSky(x: number, y: number): boolean;
}

/** Step between focal lengths tried; within the slack of pair angles. */
const FOCAL_STEP = 0.035;

/** Focal lengths from the likeliest outwards; fisheye projections for the short ones. */
export function* lensesToTry(
  view: View,
  asides: readonly Spot[],
): Generator<Pick<Camera, 'projection' | 'focalPx' | 'axis'>> {
  const { focalPx, widthPx, heightPx } = view;
  const long = Math.max(widthPx, heightPx);
  const middle = focalPx ?? 0.47 * long;
  const ways = focalPx === null ? Math.ceil(Math.log(3.4) / FOCAL_STEP) : Math.ceil(0.12 / FOCAL_STEP);
  const steps = Array.from({ length: 2 * ways + 1 }, (_, n) => (n % 2 === 0 ? n / 2 : -(n + 1) / 2));
  // An equisolid guess finds the other fisheyes as well, most times; the lens is weighed again afterwards.
  for (const projections of [['rectilinear', 'equisolid'] as const, ['equidistant', 'stereographic'] as const])
    for (const step of steps)
      for (const projection of projections) {
        const tried = middle * Math.exp(step * FOCAL_STEP);
        if (projection !== 'rectilinear' && tried > 0.62 * long) continue;
        if (tried < 0.13 * long || tried > 1.7 * long) continue;
        for (const aside of asides)
          yield {
            projection,
            focalPx: tried,
            axis: { x: (widthPx - 1) / 2 + aside.x, y: (heightPx - 1) / 2 + aside.y },
          };
      }
}

/** Frames are 3:2, 4:3 or squarer: a longer one was cropped, and its middle need not be the lens'. */
const LONGEST = 1.55;

/** How far the lens' axis may be from the middle of the frame, part of the width: some pixels, or what a crop can have cut away. */
export function slackOf({ widthPx, heightPx }: View): number {
  return Math.max(widthPx, heightPx) > LONGEST * Math.min(widthPx, heightPx) ? 0.05 : 0.004;
}

export const MIDDLE: Spot = { x: 0, y: 0 };

/** Other places of the axis that are tried in a cropped frame, pixels from its middle. */
export function cutAway(view: View): readonly Spot[] {
  if (slackOf(view) < 0.01) return [];
  const { widthPx, heightPx } = view;
  const long = Math.max(widthPx, heightPx);
  const lost = Math.min(0.12 * long, long / 1.5 - Math.min(widthPx, heightPx)) / 3;
  const [x, y] = widthPx > heightPx ? [0, lost] : [lost, 0];
  return [
    { x, y },
    { x: -x, y: -y },
  ];
}

/** Solid angle of the sky in the frame: each pixel of a radial projection sees sin(theta) / (r dr/dtheta). */
export function skyOf(view: View, lens: Omit<Camera, 'toCamera'>): number {
  const step = Math.max(1, Math.round(Math.max(view.widthPx, view.heightPx) / 60));
  let sum = 0;
  for (let y = step / 2; y < view.heightPx; y += step)
    for (let x = step / 2; x < view.widthPx; x += step) {
      if (!view.isSky(x, y)) continue;
      const radius = Math.hypot(x - lens.axis.x, y - lens.axis.y) / lens.focalPx;
      const theta = angleAt(lens.projection, radius);
      if (theta === null) continue;
      const scale = radialScale(lens.projection, theta);
      const pixel = radius < 1e-6 ? 1 : Math.sin(theta) / (radius * scale);
      sum += pixel * (step / lens.focalPx) ** 2;
    }
  return sum;
}

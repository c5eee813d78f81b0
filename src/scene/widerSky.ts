import { fractalNoise } from '../math/texture.js';
import type { SceneSpec } from './spec.js';

/** Share of the sky that opaque cloud hides at a pixel, 0 to 1. */
export function cloudCover(spec: SceneSpec, x: number, y: number): number {
  const overcast = spec.wider?.overcast ?? 0;
  if (overcast <= 0) return 0;
  const { widthPx, heightPx, seed } = spec;
  const noise = cloudNoise(spec, x, y);
  return Math.max(0, Math.min(1, (noise - (0.75 - 1.5 * overcast)) * 3));

  function cloudNoise({ wider }: SceneSpec, px: number, py: number): number {
    if (wider?.drift !== true) return fractalNoise((px / widthPx) * 4, (py / heightPx) * 7, seed + 43, 5, 0.55);
    // Cloud that drifts through a long exposure is drawn out from a vanishing point.
    const dx = px / widthPx - 0.3 - 0.4 * ((seed % 10) / 10);
    const dy = py / heightPx - 0.7;
    const angle = Math.atan2(dx, -dy) * 7;
    return fractalNoise(angle, Math.log(0.05 + Math.hypot(dx, dy)) * 1.6, seed + 43, 4, 0.55);
  }
}

/** Cloud is lit unevenly: a factor round 1. */
export function cloudLight(spec: SceneSpec, x: number, y: number): number {
  return 2 ** (1.6 * fractalNoise((x / spec.widthPx) * 6, (y / spec.heightPx) * 9, spec.seed + 45, 4));
}

const NOTHING = [0, 0, 0] as const;

/** Light of twilight and of an aurora-like glow at a pixel, in units of the sky's own. `altitude` is the sine of the height. */
export function widerSky(spec: SceneSpec, x: number, y: number, altitude: number): readonly [number, number, number] {
  const { wider, widthPx, heightPx, seed } = spec;
  if (wider === undefined) return NOTHING;
  const up = Math.max(0, altitude);
  const low = wider.twilight * Math.exp(-up / 0.22);
  const high = 0.3 * wider.twilight * Math.exp(-up / 0.7);
  const sum: [number, number, number] = [0, 0, 0];
  for (let c = 0; c < 3; c++) sum[c] = low * wider.twilightColour[c]! + high * [0.5, 0.9, 1.5][c]!;
  if (wider.aurora > 0) {
    const fold = fractalNoise((x / widthPx) * 3, 1.3, seed + 47, 3) * 0.25;
    const foot = (y / heightPx - 0.35 - fold) * 6;
    const curtain = Math.exp(-(foot > 0 ? foot * foot * 2 : -foot * 0.7));
    const rays = 0.6 + 0.4 * fractalNoise((x / widthPx) * 26, 0.4, seed + 48, 3);
    const red = foot < -1.2 ? Math.min(1, (-1.2 - foot) * 0.4) : 0;
    const light = wider.aurora * curtain * rays;
    sum[0] += light * (0.25 + 0.9 * red);
    sum[1] += light * (1 - 0.6 * red);
    sum[2] += light * (0.45 + 0.3 * red);
  }
  return sum;
}

import type { Random } from '../../math/random.js';
import { fractalNoise } from '../../math/texture.js';
import type { Coverage } from '../canvas.js';

/** Broken walls with openings that the sky shows through. */
export function drawRuin(
  canvas: Coverage,
  random: Random,
  ruin: { left: number; right: number; footY: number; heightPx: number },
): void {
  const seed = Math.floor(random.between(0, 1e6));
  const span = ruin.right - ruin.left;
  const gable = random.next() < 0.5;
  const top = (x: number): number => {
    const along = (x - ruin.left) / span;
    const shape = gable ? 1 - Math.abs(along - 0.4) * 1.1 : 0.75 + 0.25 * Math.cos(along * 7);
    const broken =
      0.12 * fractalNoise(x / (span * 0.08), 3, seed, 4) +
      0.06 * Math.round(fractalNoise(x / (span * 0.05), 9, seed, 2) * 3);
    return ruin.footY - ruin.heightPx * Math.max(0.15, shape + broken);
  };
  canvas.columns(top, () => ruin.footY + ruin.heightPx * 0.25, ruin.left, ruin.right);
  const openings = 1 + Math.floor(random.between(0, 3));
  for (let n = 0; n < openings; n++) {
    const cx = ruin.left + span * ((n + 0.6) / (openings + 0.4)) + random.between(-0.04, 0.04) * span;
    const wide = span * random.between(0.035, 0.08);
    const high = ruin.heightPx * random.between(0.1, 0.2);
    const cy = Math.max(top(cx) + high * 1.6, ruin.footY - ruin.heightPx * random.between(0.35, 0.6));
    canvas.cut(cx, cy, wide, high, random.next() < 0.6);
  }
}

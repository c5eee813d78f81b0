import type { Random } from '../../math/random.js';
import type { Coverage } from '../canvas.js';

/** A standing person, feet at (x, footY). */
export function drawFigure(
  canvas: Coverage,
  random: Random,
  figure: { x: number; footY: number; heightPx: number },
): void {
  const { x, footY, heightPx: h } = figure;
  const lean = random.between(-0.03, 0.03) * h;
  const shoulderY = footY - 0.8 * h;
  const hipY = footY - 0.47 * h;
  canvas.ellipse(x + lean, footY - 0.93 * h, 0.055 * h, 0.075 * h);
  canvas.limb(x + lean, shoulderY - 0.06 * h, 0.03 * h, x + lean, shoulderY, 0.05 * h);
  canvas.limb(x + lean, shoulderY + 0.03 * h, 0.1 * h, x, hipY, 0.085 * h);
  for (const side of [-1, 1]) {
    const stance = random.between(0.05, 0.1) * h * side;
    canvas.limb(x + side * 0.04 * h, hipY, 0.06 * h, x + stance, footY, 0.035 * h);
    const swing = random.between(0.02, 0.16) * h * side;
    canvas.limb(
      x + lean + side * 0.1 * h,
      shoulderY + 0.02 * h,
      0.038 * h,
      x + side * 0.13 * h + swing * 0.5,
      hipY + 0.02 * h,
      0.026 * h,
    );
  }
}

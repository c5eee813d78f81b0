import type { Random } from '../../math/random.js';
import type { Coverage } from '../canvas.js';

/** A branching tree with its foot at (footX, footY); `leafy` hangs leaves on the twigs. */
export function drawTree(
  canvas: Coverage,
  random: Random,
  tree: { footX: number; footY: number; heightPx: number; leafy: boolean },
): void {
  const grow = (x: number, y: number, angle: number, length: number, radius: number, depth: number): void => {
    const bend = random.between(-0.18, 0.18);
    const midX = x + Math.sin(angle) * length * 0.5;
    const midY = y - Math.cos(angle) * length * 0.5;
    const endX = midX + Math.sin(angle + bend) * length * 0.5;
    const endY = midY - Math.cos(angle + bend) * length * 0.5;
    canvas.limb(x, y, radius, midX, midY, radius * 0.85);
    canvas.limb(midX, midY, radius * 0.85, endX, endY, radius * 0.7);
    if (depth === 0 || radius < 0.35) {
      if (tree.leafy) leaves(endX, endY, length);
      return;
    }
    const forks = random.next() < 0.35 ? 3 : 2;
    for (let fork = 0; fork < forks; fork++) {
      const side = (fork - (forks - 1) / 2) * random.between(0.5, 0.9);
      grow(
        endX,
        endY,
        angle + bend + side,
        length * random.between(0.62, 0.84),
        radius * random.between(0.55, 0.72),
        depth - 1,
      );
    }
    if (tree.leafy && depth < 3) leaves(endX, endY, length);
  };
  const leaves = (x: number, y: number, reach: number): void => {
    const size = tree.heightPx / 130;
    for (let leaf = 0; leaf < 14; leaf++)
      canvas.ellipse(
        x + random.gaussian() * reach * 0.6,
        y + random.gaussian() * reach * 0.6,
        size * random.between(0.6, 1.8),
        size * random.between(0.5, 1.4),
      );
  };
  grow(tree.footX, tree.footY, random.between(-0.1, 0.1), tree.heightPx * 0.27, tree.heightPx * 0.035, 7);
}

import type { Random } from '../../math/random.js';
import { fractalNoise } from '../../math/texture.js';
import type { Coverage } from '../canvas.js';

/** Posts with two wires, and bushes behind them. `footOf` is the ground row of a column. */
export function drawFence(
  canvas: Coverage,
  random: Random,
  fence: { footOf: (x: number) => number; heightPx: number },
): void {
  const step = canvas.width / random.between(7, 12);
  const posts: { x: number; top: number }[] = [];
  for (let x = random.between(0, step); x < canvas.width; x += step * random.between(0.85, 1.15)) {
    const foot = fence.footOf(x);
    const top = foot - fence.heightPx * random.between(0.85, 1.1);
    const half = fence.heightPx * 0.045;
    canvas.limb(x, foot + 5, half, x + random.between(-0.04, 0.04) * fence.heightPx, top, half * 0.9);
    posts.push({ x, top });
  }
  posts.slice(1).forEach((post, index) => {
    const before = posts[index]!;
    for (const drop of [0.12, 0.5])
      canvas.limb(before.x, before.top + drop * fence.heightPx, 1, post.x, post.top + drop * fence.heightPx, 1);
  });
  const bushes = 2 + Math.floor(random.between(0, 4));
  for (let bush = 0; bush < bushes; bush++) {
    const cx = random.between(0, canvas.width);
    const wide = fence.heightPx * random.between(0.6, 1.8);
    const high = fence.heightPx * random.between(0.6, 1.5);
    const seed = Math.floor(random.between(0, 1e6));
    canvas.columns(
      (x) => {
        const along = (x - cx) / wide;
        const dome = Math.sqrt(Math.max(0, 1 - along * along));
        return fence.footOf(x) - high * dome * (1 + 0.3 * fractalNoise(x / 14, 0, seed, 3));
      },
      (x) => fence.footOf(x) + 4,
      cx - wide,
      cx + wide,
    );
    for (let twig = 0; twig < 60; twig++) {
      const x = cx + random.between(-0.9, 0.9) * wide;
      const along = (x - cx) / wide;
      const y = fence.footOf(x) - high * Math.sqrt(Math.max(0, 1 - along * along)) * random.between(0.8, 1.02);
      canvas.limb(x, y + 10, 1.2, x + random.gaussian() * 8, y - random.between(4, 22), 0.6);
    }
  }
}

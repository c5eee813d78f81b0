/** Smooth lattice noise in [-1, 1] at (x, y); `seed` picks the lattice. */
function latticeNoise(x: number, y: number, seed: number): number {
  const x0 = Math.floor(x);
  const y0 = Math.floor(y);
  const fx = x - x0;
  const fy = y - y0;
  const sx = fx * fx * (3 - 2 * fx);
  const sy = fy * fy * (3 - 2 * fy);
  const top = corner(x0, y0, seed) * (1 - sx) + corner(x0 + 1, y0, seed) * sx;
  const bottom = corner(x0, y0 + 1, seed) * (1 - sx) + corner(x0 + 1, y0 + 1, seed) * sx;
  return top * (1 - sy) + bottom * sy;
}

function corner(x: number, y: number, seed: number): number {
  let hash = Math.imul(x, 374761393) ^ Math.imul(y, 668265263) ^ Math.imul(seed, 1274126177);
  hash = Math.imul(hash ^ (hash >>> 13), 1274126177);
  return ((hash ^ (hash >>> 16)) >>> 0) / 2147483648 - 1;
}

/** Sum of `octaves` of lattice noise, each at twice the frequency and `gain` times the height of the one before. */
export function fractalNoise(x: number, y: number, seed: number, octaves: number, gain = 0.5): number {
  let sum = 0;
  let height = 1;
  let norm = 0;
  let scale = 1;
  for (let octave = 0; octave < octaves; octave++) {
    sum += height * latticeNoise(x * scale, y * scale, seed + octave * 17);
    norm += height;
    height *= gain;
    scale *= 2;
  }
  return sum / norm;
}

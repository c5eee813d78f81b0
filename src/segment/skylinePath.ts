import type { Cells } from './cells.js';

/** Step of level and colour between the cells above and below a row, 0 to about 2. */
export function edgeStrength(cells: Cells): Float32Array {
  const { width, height } = cells;
  const out = new Float32Array(width * height);
  const reach = 2;
  for (let y = reach; y < height - reach; y++) {
    let coherent = 0;
    for (let x = 0; x < width; x++) {
      let step = 0;
      let red = 0;
      let blue = 0;
      for (let d = 0; d < reach; d++) {
        const above = (y - 1 - d) * width + x;
        const below = (y + d) * width + x;
        step += cells.level[below]! - cells.level[above]!;
        red += cells.redness[below]! - cells.redness[above]!;
        blue += cells.blueness[below]! - cells.blueness[above]!;
      }
      out[y * width + x] = Math.min(2, (Math.abs(step) + 0.7 * Math.abs(red) + 0.5 * Math.abs(blue)) / reach);
      coherent += Math.max(-1, Math.min(1, step / reach));
    }
    // A level edge right across the frame (a shore, the sea's horizon) counts more than its parts.
    const line = Math.min(1, Math.abs(coherent / width) * 1.5);
    for (let x = 0; x < width; x++) out[y * width + x]! += line;
  }
  return out;
}

/** The row of the line in each column, solved exactly: evidence wrongly above or below it, edges missed, and jumps cost. */
export function bestPath(cells: Cells, evidence: Float32Array, edges: Float32Array): Float32Array {
  const { width, height } = cells;
  const rows = height + 1;
  const cost = new Float32Array(width * rows);
  const from = new Int16Array(width * rows);
  const jump = 1.1;
  for (let x = 0; x < width; x++) {
    // Cost of the line at row r: foreground evidence above it (wrongly called sky) minus below it.
    let above = 0;
    let total = 0;
    for (let y = 0; y < height; y++) total += evidence[y * width + x]!;
    for (let r = 0; r < rows; r++) {
      const edge = r > 0 && r < height ? edges[r * width + x]! : 0;
      cost[x * rows + r] = above - (total - above) - 5 * edge;
      if (r < height) above += evidence[r * width + x]!;
    }
    if (x === 0) continue;
    const before = (x - 1) * rows;
    const best = new Float32Array(rows);
    const via = new Int16Array(rows);
    for (let r = 0; r < rows; r++) {
      best[r] = cost[before + r]!;
      via[r] = r;
      if (r > 0 && best[r - 1]! + jump < best[r]!) {
        best[r] = best[r - 1]! + jump;
        via[r] = via[r - 1]!;
      }
    }
    for (let r = rows - 2; r >= 0; r--) {
      if (best[r + 1]! + jump < best[r]!) {
        best[r] = best[r + 1]! + jump;
        via[r] = via[r + 1]!;
      }
    }
    for (let r = 0; r < rows; r++) {
      cost[x * rows + r]! += best[r]!;
      from[x * rows + r] = via[r]!;
    }
  }
  const line = new Float32Array(width);
  let r = 0;
  const last = (width - 1) * rows;
  for (let candidate = 1; candidate < rows; candidate++) if (cost[last + candidate]! < cost[last + r]!) r = candidate;
  for (let x = width - 1; x >= 0; x--) {
    line[x] = r;
    r = from[x * rows + r]!;
  }
  return line;
}

/** Height of a broken line at `x`: straight between its points (in order of x), level beyond its ends. */
export function heightAt(line: readonly (readonly [x: number, height: number])[], x: number): number {
  const after = line.findIndex((point) => point[0] >= x);
  if (after === -1) return line.at(-1)![1];
  const right = line[after]!;
  if (after === 0) return right[1];
  const left = line[after - 1]!;
  const part = right[0] === left[0] ? 1 : (x - left[0]) / (right[0] - left[0]);
  return left[1] + part * (right[1] - left[1]);
}

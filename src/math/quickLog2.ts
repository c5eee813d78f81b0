const STEPS = 4096;
const MANTISSA = Float32Array.from({ length: STEPS }, (_, n) => Math.log2(1 + (n + 0.5) / STEPS));
const number = new Float32Array(1);
const bits = new Int32Array(number.buffer);

/**
 * log2 of a positive number within 0.0002, several times faster than Math.log2: exponent of the 32-bit form (IEEE 754) plus a table over
 * the upper twelve bits of the mantissa. For planes of light; numbers under 1e-37 give nonsense.
 */
export function quickLog2(value: number): number {
  number[0] = value;
  const form = bits[0]!;
  return (form >>> 23) - 127 + MANTISSA[(form >>> 11) & (STEPS - 1)]!;
}

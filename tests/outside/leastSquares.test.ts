import fc from 'fast-check';
import { Matrix, solve } from 'ml-matrix';
import { describe, expect, it } from 'vitest';
import { nonNegative, solveSystem } from '../../src/math/leastSquares.js';

const number = fc.double({ min: -10, max: 10, noNaN: true, noDefaultInfinity: true });
const table = (rows: number, columns: number): fc.Arbitrary<number[][]> =>
  fc.array(fc.array(number, { minLength: columns, maxLength: columns }), { minLength: rows, maxLength: rows });

/** Reference: ml-matrix 6, a general library of linear algebra. */
describe('least squares against ml-matrix', () => {
  it('systems with a single answer', () => {
    fc.assert(
      fc.property(
        fc
          .integer({ min: 1, max: 5 })
          .chain((n) => fc.tuple(table(n, n), fc.array(number, { minLength: n, maxLength: n }))),
        ([rows, right]) => {
          const n = right.length;
          // Well conditioned: the diagonal outweighs the rest.
          const a = rows.map((row, i) => row.map((value, j) => (i === j ? value + 60 : value)));
          const x = solveSystem(a.flat(), right)!;
          const reference = solve(new Matrix(a), Matrix.columnVector(right)).to1DArray();
          for (let i = 0; i < n; i++) expect(x[i]).toBeCloseTo(reference[i]!, 8);
        },
      ),
    );
  });

  it('where no answer is below zero it is the ordinary one; elsewhere it meets the conditions of Karush, Kuhn and Tucker', () => {
    fc.assert(
      fc.property(table(5, 3), fc.array(number, { minLength: 5, maxLength: 5 }), (rows, values) => {
        const design = rows.map((row, i) => row.map((value, k) => value + (i === k ? 40 : 0)));
        const weights = [1, 2, 0.5, 1, 3];
        const x = nonNegative(design, values, weights);
        const scaled = new Matrix(design.map((row, j) => row.map((value) => value * Math.sqrt(weights[j]!))));
        const right = values.map((value, j) => value * Math.sqrt(weights[j]!));
        const free = solve(scaled, Matrix.columnVector(right), true).to1DArray();
        if (free.every((value) => value > 1e-6))
          x.forEach((value, k) => {
            expect(value).toBeCloseTo(free[k]!, 6);
          });
        // Of the size of what is added up.
        const size =
          1 + design.reduce((sum, row, j) => sum + weights[j]! * Math.hypot(...row) * Math.abs(values[j]!), 0);
        const miss = design.map((row, j) => row.reduce((sum, value, k) => sum + value * x[k]!, 0) - values[j]!);
        x.forEach((value, k) => {
          const slope = design.reduce((sum, row, j) => sum + weights[j]! * row[k]! * miss[j]!, 0);
          expect(value).toBeGreaterThanOrEqual(0);
          if (value > 1e-9) expect(Math.abs(slope)).toBeLessThan(1e-6 * size);
          else expect(slope).toBeGreaterThan(-1e-4 * Math.sqrt(size));
        });
      }),
    );
  });
});

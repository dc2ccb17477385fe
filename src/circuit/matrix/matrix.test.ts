import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { patternOf, pivotedSolve, residual, SparseLU, symbolicFactor } from './index.ts';
import { dense, denseSolve, randomSystem } from './random-system.ts';

const system = fc.record({
  n: fc.integer({ min: 1, max: 40 }),
  degree: fc.integer({ min: 0, max: 6 }),
  seed: fc.integer(),
});
describe('sparse factors', () => {
  it('solve the same systems as dense elimination, upright and transposed', () => {
    fc.assert(
      fc.property(system, ({ n, degree, seed }) => {
        const { pattern, values, b } = randomSystem(n, degree, seed);
        const lu = new SparseLU(symbolicFactor(pattern));
        lu.values.set(values);
        expect(lu.refactor()).toBe(true);
        for (const transposed of [false, true]) {
          const { x, sign } = denseSolve(dense(pattern, values, transposed), b);
          const y = b.slice();
          if (transposed) lu.solveTransposed(y);
          else lu.solve(y);
          const z = pivotedSolve(pattern, values, b, transposed)!;
          const scale = Math.max(...x.map(Math.abs));
          for (let i = 0; i < n; i++) {
            expect(Math.abs(y[i]! - x[i]!)).toBeLessThan(1e-9 * scale);
            expect(Math.abs(z[i]! - x[i]!)).toBeLessThan(1e-9 * scale);
          }
          if (!transposed) expect(residual(pattern, values, y, b)).toBeLessThan(1e-13);
          expect(lu.negativePivots % 2).toBe(sign < 0 ? 1 : 0);
        }
      }),
    );
  });
  it('answer false for a zero row', () => {
    const pattern = patternOf(2, [[0, 1]]);
    const lu = new SparseLU(symbolicFactor(pattern));
    lu.values.set([1, 1, 1, 1]);
    expect(lu.refactor()).toBe(false);
    expect(pivotedSolve(pattern, lu.values, new Float64Array(2))).toBeUndefined();
  });
});

import fc from 'fast-check';
import { determinant, inverse, Matrix } from 'ml-matrix';
import { describe, expect, it } from 'vitest';
import { cholesky, type LooseWay, robustEvidence, type Tails } from './robust-evidence.ts';

const real = fc.double({ min: -1, max: 1, noNaN: true });
/** A covariance B B' + noise, and a residual of some spreads. */
const problem = fc.integer({ min: 1, max: 7 }).chain((n) =>
  fc.record({
    n: fc.constant(n),
    covariance: fc.array(real, { minLength: n * n, maxLength: n * n }).map((b) => {
      const m = new Matrix(Array.from({ length: n }, (_, i) => b.slice(i * n, (i + 1) * n)));
      return m.mmul(m.transpose()).add(Matrix.eye(n).mul(0.2));
    }),
    residual: fc.array(fc.double({ min: -6, max: 6, noNaN: true }), { minLength: n, maxLength: n }),
    nets: fc.array(fc.integer({ min: 0, max: 4 }), { minLength: n, maxLength: n }),
  }),
);
const TAILS: Tails = {
  slipRate: 0.002,
  slipDensity: 1 / 20,
  mostSlips: 3,
  ways: [],
  mostWays: 2,
};
const NEVER: Tails = { ...TAILS, mostSlips: 0, mostWays: 0 };
const WAY_RATE = 0.02;
const WAY_VOLTS = 0.4;

/** Log density by determinant and inverse. */
function logDensity(residual: readonly number[], covariance: Matrix): number {
  const n = residual.length;
  if (n === 0) return 0;
  const r = Matrix.columnVector(Array.from(residual));
  const chi = r.transpose().mmul(inverse(covariance)).mmul(r).get(0, 0);
  return -0.5 * (chi + Math.log(determinant(covariance)) + n * Math.log(2 * Math.PI));
}
function evidence(residual: readonly number[], covariance: Matrix, nets: readonly number[], tails: Tails) {
  return robustEvidence(Float64Array.from(residual), Float64Array.from(covariance.to1DArray()), {
    ...tails,
    ways: waysOf(nets),
  })!;
}
/** Readings with one number are off together. */
function waysOf(nets: readonly number[]): LooseWay[] {
  return [...new Set(nets)].sort().map((net) => {
    const readings = [...nets.keys()].filter((i) => nets[i] === net);
    return { readings, volts: readings.map(() => WAY_VOLTS), rate: WAY_RATE };
  });
}
function without<T>(list: readonly T[], out: readonly number[]): T[] {
  return list.filter((_, i) => !out.includes(i));
}
function matrixWithout(m: Matrix, out: readonly number[]): Matrix {
  const kept = without([...Array(m.rows).keys()], out);
  return m.selection(kept, kept);
}

describe('the density of readings', () => {
  it('is the dense Gaussian one when nothing is off', () => {
    fc.assert(
      fc.property(problem, ({ n, covariance, residual, nets }) => {
        const found = evidence(residual, covariance, nets, NEVER);
        expect(found.log).toBeCloseTo(logDensity(residual, covariance) + n * Math.log1p(-TAILS.slipRate), 6);
        const weights = inverse(covariance).mmul(Matrix.columnVector(residual));
        found.weights.forEach((w, i) => {
          expect(w).toBeCloseTo(weights.get(i, 0), 6);
        });
        expect(found.chiSquare).toBeCloseTo(
          weights.to1DArray().reduce((sum, w, i) => sum + w * residual[i]!, 0),
          6,
        );
      }),
    );
  });
  it('with slips set aside is that of the others, and a price for each slip', () => {
    fc.assert(
      fc.property(problem, ({ n, covariance, residual, nets }) => {
        const found = evidence(residual, covariance, nets, { ...TAILS, mostWays: 0 });
        const out = found.setAside;
        const rest = without(residual, out);
        const left = matrixWithout(covariance, out);
        const log =
          logDensity(rest, left) +
          (n - out.length) * Math.log1p(-TAILS.slipRate) +
          out.length * Math.log(TAILS.slipRate * TAILS.slipDensity);
        expect(found.log).toBeCloseTo(log, 6);
        if (rest.length > 0) {
          const weights = inverse(left).mmul(Matrix.columnVector(rest));
          without([...found.weights], out).forEach((w, i) => {
            expect(w).toBeCloseTo(weights.get(i, 0), 6);
          });
        }
        for (const i of out) expect(found.weights[i]).toBe(0);
        expect(out.length).toBeLessThanOrEqual(TAILS.mostSlips);
        expect(new Set(out).size).toBe(out.length);
      }),
      { numRuns: 300 },
    );
  });
  it('never falls by allowing for slips and misfits', () => {
    fc.assert(
      fc.property(problem, ({ covariance, residual, nets }) => {
        const plain = evidence(residual, covariance, nets, NEVER);
        expect(evidence(residual, covariance, nets, TAILS).log).toBeGreaterThanOrEqual(plain.log - 1e-9);
      }),
    );
  });
  it('does not mind the order of the readings', () => {
    fc.assert(
      fc.property(problem, ({ n, covariance, residual, nets }) => {
        const turned = [...Array(n).keys()].reverse();
        const found = evidence(residual, covariance, nets, TAILS);
        const other = evidence(
          turned.map((i) => residual[i]!),
          covariance.selection(turned, turned),
          turned.map((i) => nets[i]!),
          TAILS,
        );
        expect(other.log).toBeCloseTo(found.log, 7);
        expect(other.setAside.map((i) => turned[i]).sort()).toEqual([...found.setAside].sort());
        expect([...other.loose].sort()).toEqual([...found.loose].sort());
      }),
    );
  });
  it('of no reading at all is one', () => {
    expect(robustEvidence(new Float64Array(0), new Float64Array(0), TAILS)!.log).toBeCloseTo(0, 12);
  });
  it('is not computed from a covariance that is none', () => {
    expect(robustEvidence(Float64Array.of(1, 1), Float64Array.of(1, 2, 2, 1), TAILS)).toBeUndefined();
    expect(cholesky(Float64Array.of(Number.NaN), 1)).toBeUndefined();
  });
});

describe('a slip of the probe', () => {
  it('is set aside alone, and pays its price', () => {
    const covariance = Matrix.eye(4).mul(0.01);
    const found = evidence([0.05, 7, -0.1, 0.02], covariance, [0, 1, 2, 3], TAILS);
    expect(found.setAside).toEqual([1]);
    expect(found.loose).toEqual([]);
    expect(found.weights[1]).toBe(0);
    const price = Math.log(0.002 / 20);
    expect(found.log).toBeCloseTo(
      logDensity([0.05, -0.1, 0.02], Matrix.eye(3).mul(0.01)) + 3 * Math.log(0.998) + price,
      9,
    );
  });
});

describe('a net where the model is off', () => {
  it('takes one offset for all its readings, at one price and not a slip for each', () => {
    const covariance = Matrix.eye(6).mul(0.01).add(Matrix.ones(6, 6).mul(0.0001));
    const residual = [0.55, 0.6, 0.5, 0.62, 0.01, 0.03];
    const found = evidence(residual, covariance, [1, 1, 1, 1, 2, 3], TAILS);
    expect(found.loose).toEqual([0]);
    expect(found.setAside).toEqual([]);
    // The same as a Gaussian whose first four readings share a variance, at the price of the way.
    const offset = WAY_VOLTS ** 2;
    for (let a = 0; a < 4; a++)
      for (let b = 0; b < 4; b++) covariance.set(a, b, covariance.get(a, b) + offset);
    const log = logDensity(residual, covariance) + 6 * Math.log(1 - TAILS.slipRate) + Math.log(WAY_RATE);
    expect(found.log).toBeCloseTo(log, 8);
  });
});

describe('a leakage far above the usual', () => {
  it('moves each reading by its own share, with its sign', () => {
    const covariance = Matrix.eye(3).mul(0.01);
    const residual = [0.9, -0.45, 0.02];
    const way: LooseWay = { readings: [0, 1], volts: [1, -0.5], rate: 0.1 };
    const found = robustEvidence(Float64Array.from(residual), Float64Array.from(covariance.to1DArray()), {
      ...TAILS,
      ways: [way],
    })!;
    expect(found.loose).toEqual([0]);
    const v = Matrix.columnVector([1, -0.5, 0]);
    const wide = covariance.add(v.mmul(v.transpose()));
    expect(found.log).toBeCloseTo(logDensity(residual, wide) + 3 * Math.log(0.998) + Math.log(0.1), 9);
    const weights = inverse(wide).mmul(Matrix.columnVector(residual)).to1DArray();
    weights.forEach((w, i) => {
      expect(found.weights[i]).toBeCloseTo(w, 9);
    });
  });
});

import fc from 'fast-check';
import { inverse, Matrix } from 'ml-matrix';
import { describe, expect, it } from 'vitest';
import { type Coupling, type GaussianDatum, rowTimes, SparseGaussian, sparseRow } from './sparse-gaussian.ts';

const real = fc.double({ min: -2, max: 2, noNaN: true });
/** Units in blocks, correlated by parameter as in the reckoning; readings with rows of up to four entries. */
const problem = fc
  .record({ blocks: fc.integer({ min: 1, max: 3 }), parameters: fc.integer({ min: 1, max: 5 }) })
  .chain(({ blocks, parameters }) => {
    const size = blocks * parameters;
    const datum = fc
      .record({
        entries: fc.uniqueArray(fc.integer({ min: 0, max: size - 1 }), { minLength: 1, maxLength: 4 }),
        values: fc.array(real, { minLength: 4, maxLength: 4 }),
        residual: real,
        variance: fc.double({ min: 0.01, max: 1, noNaN: true }),
      })
      .map(
        (d): GaussianDatum => ({
          row: {
            indices: Int32Array.from(d.entries),
            values: Float64Array.from(d.entries, (_, i) => d.values[i]!),
          },
          residual: d.residual,
          variance: d.variance,
        }),
      );
    return fc.record({
      size: fc.constant(size),
      prior: fc
        .array(fc.double({ min: 0, max: 0.9, noNaN: true }), { minLength: parameters, maxLength: parameters })
        .map((commons) => couplings(blocks, commons)),
      start: fc.array(real, { minLength: size, maxLength: size }).map((x) => Float64Array.from(x)),
      data: fc.array(datum, { maxLength: 8 }),
    });
  });

/** Precision of unit variances of which `common` is shared between the blocks, by a dense inverse. */
function couplings(blocks: number, commons: readonly number[]): Coupling[] {
  const list: Coupling[] = [];
  commons.forEach((common, p) => {
    const covariance = Matrix.eye(blocks)
      .mul(1 - common)
      .add(Matrix.ones(blocks, blocks).mul(common));
    const precision = inverse(covariance);
    for (let a = 0; a < blocks; a++)
      for (let b = 0; b < blocks; b++)
        list.push({ i: a * commons.length + p, k: b * commons.length + p, precision: precision.get(a, b) });
  });
  return list;
}

describe('a Gaussian in information form', () => {
  it('has the mean and the covariance of the dense formulas', () => {
    fc.assert(
      fc.property(problem, ({ size, prior, start, data }) => {
        const g = new SparseGaussian(size, prior, start, data);
        // Kalman's form, with the prior's covariance and readings one by one: nothing in common with the sparse one.
        const precision = Matrix.zeros(size, size);
        for (const c of prior) precision.set(c.i, c.k, precision.get(c.i, c.k) + c.precision);
        let covariance = inverse(precision);
        let mean = Matrix.columnVector(Array.from(start));
        for (const d of data) {
          const s = Matrix.zeros(1, size);
          d.row.indices.forEach((i, k) => {
            s.set(0, i, d.row.values[k]!);
          });
          const shared = covariance.mmul(s.transpose());
          const total = s.mmul(shared).get(0, 0) + d.variance;
          const gain = Matrix.mul(shared, 1 / total);
          mean = Matrix.add(mean, Matrix.mul(gain, d.residual - s.mmul(mean).get(0, 0)));
          covariance = Matrix.sub(covariance, gain.mmul(shared.transpose()));
        }
        for (let i = 0; i < size; i++) {
          expect(g.mean[i]).toBeCloseTo(mean.get(i, 0), 7);
          const column = g.covariance({ indices: Int32Array.of(i), values: Float64Array.of(1) });
          for (let k = 0; k < size; k++) expect(column[k]).toBeCloseTo(covariance.get(k, i), 7);
        }
      }),
    );
  });
  it('does not mind the order of the readings', () => {
    fc.assert(
      fc.property(problem, ({ size, prior, start, data }) => {
        const g = new SparseGaussian(size, prior, start, data);
        const back = new SparseGaussian(size, [...prior].reverse(), start, [...data].reverse());
        g.mean.forEach((m, i) => {
          expect(back.mean[i]).toBeCloseTo(m, 8);
        });
      }),
    );
  });
  it('without a reading stays at its prior', () => {
    const g = new SparseGaussian(4, couplings(2, [0.3, 0.6]), Float64Array.of(0.5, 0, -1, 0.7), []);
    [0.5, 0, -1, 0.7].forEach((m, i) => {
      expect(g.mean[i]).toBeCloseTo(m, 12);
    });
    const shared = g.covariance({ indices: Int32Array.of(0), values: Float64Array.of(2) });
    [2, 0, 0.6, 0].forEach((c, i) => {
      expect(shared[i]).toBeCloseTo(c, 12);
    });
  });
  it('without a proper prior is refused', () => {
    expect(() => new SparseGaussian(1, [{ i: 0, k: 0, precision: 0 }], new Float64Array(1), [])).toThrow(
      RangeError,
    );
  });
});

describe('a sparse row', () => {
  it('keeps the variance of the dense one, what it leaves out counted as rest', () => {
    fc.assert(
      fc.property(fc.array(real, { minLength: 1, maxLength: 40 }), (dense) => {
        const { row, rest } = sparseRow(Float64Array.from(dense), 0, dense.length, (p) => 3 * p);
        const squares = row.values.reduce((sum, s) => sum + s * s, 0);
        const total = dense.reduce((sum, s) => sum + s * s, 0);
        expect(squares + rest).toBeCloseTo(total, 12);
        row.indices.forEach((i, k) => {
          expect(dense[i / 3]).toBe(row.values[k]);
        });
      }),
    );
  });
  it('leaves out no more than the stated share of the variance', () => {
    fc.assert(
      fc.property(fc.array(real, { minLength: 1, maxLength: 400 }), (dense) => {
        const { rest } = sparseRow(Float64Array.from(dense), 0, dense.length, (p) => p, 0.1);
        const total = dense.reduce((sum, s) => sum + s * s, 0);
        expect(rest).toBeLessThanOrEqual(0.1 * total + 1e-7);
      }),
    );
  });
  it('times a vector is the sum of the products', () => {
    const row = { indices: Int32Array.of(2, 0), values: Float64Array.of(3, -1) };
    expect(rowTimes(row, Float64Array.of(10, 20, 30))).toBe(80);
  });
});

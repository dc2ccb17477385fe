/**
 * The posterior of a small case worked by hand, without and with the healthy unit.
 *
 * @source diagnosis_examples.md section 6 (worked there)
 */
import { expect, test } from 'vitest';
import { robustEvidence, rowTimes, SparseGaussian } from '../../src/diagnosis/index.ts';

/** As good as never a slip or a misfit. */
const NO_TAILS = {
  slipRate: 1e-15,
  slipDensity: 0.05,
  mostSlips: 0,
  ways: [],
  mostWays: 0,
};
const METER = 0.1 ** 2;
/** Deviations in volts of the faulty unit and of the healthy one: variance 0.09 each, of which 0.06 is common. */
const OWN = 0.03;
const COMMON = 0.06;
const row = (unit: number): { indices: Int32Array; values: Float64Array } => ({
  indices: Int32Array.of(unit),
  values: Float64Array.of(1),
});
const off = -COMMON / OWN / (OWN + 2 * COMMON);
const prior = [
  { i: 0, k: 0, precision: 1 / OWN + off },
  { i: 0, k: 1, precision: off },
  { i: 1, k: 0, precision: off },
  { i: 1, k: 1, precision: 1 / OWN + off },
];

function odds(gaussian: SparseGaussian): { ratio: number; odds: number; posterior: number; z: number } {
  const shift = rowTimes(row(0), gaussian.mean);
  const variance = rowTimes(row(0), gaussian.covariance(row(0))) + METER;
  const log = (mean: number): number =>
    robustEvidence(Float64Array.of(-5.4 - mean - shift), Float64Array.of(variance), NO_TAILS)!.log;
  const ratio = Math.exp(log(-5.2) - log(-6));
  const found = (0.1 / 0.9) * ratio;
  return {
    ratio,
    odds: found,
    posterior: found / (1 + found),
    z: (-5.4 + 6 - shift) / Math.sqrt(variance),
  };
}

test('two hypotheses and one reading give the posterior worked by hand', () => {
  const found = odds(new SparseGaussian(2, prior, new Float64Array(2), []));
  expect(found.ratio).toBeCloseTo(4.953032, 6);
  expect(found.odds).toBeCloseTo(0.550337, 6);
  expect(found.posterior).toBeCloseTo(0.354979, 6);
  expect(found.z).toBeCloseTo(1.897367, 6);
});

test('the healthy unit explains part of the departure, and the posterior falls as worked by hand', () => {
  const twin = { row: row(1), residual: -5.8 + 6, variance: METER };
  const gaussian = new SparseGaussian(2, prior, new Float64Array(2), [twin]);
  expect(gaussian.mean[0]).toBeCloseTo(0.6 * 0.2, 12);
  expect(rowTimes(row(0), gaussian.covariance(row(0))) + METER).toBeCloseTo(0.064, 12);
  const found = odds(gaussian);
  expect(found.ratio).toBeCloseTo(Math.E, 6);
  expect(found.odds).toBeCloseTo(0.302031, 6);
  expect(found.posterior).toBeCloseTo(0.231969, 6);
  expect(found.z).toBeCloseTo(1.897367, 6);
});

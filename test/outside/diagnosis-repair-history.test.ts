/**
 * Failure rates from repairs on record, against a worked gamma-Poisson example and against tables of chi-square.
 *
 * @source diagnosis_examples.md section 5 (worked there)
 */
import { expect, test } from 'vitest';
import {
  failureProbability,
  meanRate,
  modalRate,
  rateAfter,
  rateDeviation,
  rateQuantile,
} from '../../src/faults/index.ts';

// Prior mean 2e-6 an hour worth 2 failures; 3 failures in 5e5 part-hours on record.
const rate = rateAfter({ shape: 2, hours: 1e6 }, 3, 5e5);

test('three failures on record move a rate as worked', () => {
  expect(rate).toEqual({ shape: 5, hours: 1.5e6 });
  expect(meanRate(rate).toExponential(5)).toBe('3.33333e-6');
  expect(modalRate(rate).toExponential(5)).toBe('2.66667e-6');
  expect(rateDeviation(rate).toExponential(5)).toBe('1.49071e-6');
  expect(rateQuantile(rate, 0.05).toExponential(5)).toBe('1.31343e-6');
  expect(rateQuantile(rate, 0.95).toExponential(5)).toBe('6.10235e-6');
});

test('the next hundred thousand part-hours bring failures as worked', () => {
  expect([0, 1, 2].map((k) => failureProbability(rate, k, 1e5).toFixed(6))).toEqual([
    '0.724196',
    '0.226311',
    '0.042433',
  ]);
});

test('quantiles are those of the chi-square tables', () => {
  // Abramowitz & Stegun table 26.8 (from memory): chi-square with 2, 10 and 1 degrees of freedom is twice a gamma of half as many.
  const chiSquare = (degrees: number, p: number): number =>
    2 * rateQuantile({ shape: degrees / 2, hours: 1 }, p);
  expect(chiSquare(2, 0.95)).toBeCloseTo(5.99146, 5);
  expect(chiSquare(10, 0.95)).toBeCloseTo(18.307, 3);
  expect(chiSquare(10, 0.05)).toBeCloseTo(3.9403, 4);
  expect(chiSquare(1, 0.95)).toBeCloseTo(3.84146, 5);
  // With two degrees it is an exponential distribution, in closed form.
  for (const p of [1e-9, 0.001, 0.3, 0.999]) expect(chiSquare(2, p)).toBeCloseTo(-2 * Math.log1p(-p), 12);
});

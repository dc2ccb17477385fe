/**
 * The information that a probe brings, against worked tables.
 *
 * @source diagnosis_examples.md section 4: binary entropies, and the quadrature of a two-Gaussian mixture made there
 *   with a relative tolerance of 1e-12
 */
import { describe, expect, test } from 'vitest';
import { type Component, entropyBits, informationBits } from '../../src/diagnosis/index.ts';

describe('a reading with noise', () => {
  const rows = [
    [0.5, 0.04373, 0.016041],
    [1, 0.160747, 0.061664],
    [2, 0.485944, 0.204892],
    [3, 0.759979, 0.340137],
    [4, 0.912822, 0.420775],
    [6, 0.994447, 0.465818],
  ] as const;
  const two = (d: number, p: number): Component[] => [
    { group: 0, probability: p, mean: -6, sigma: 0.1 },
    { group: 1, probability: 1 - p, mean: -6 + 0.1 * d, sigma: 0.1 },
  ];
  test.each(rows)(
    'between means %f sigma apart tells as many bits as the worked table',
    (d, even, uneven) => {
      expect(Math.abs(informationBits(two(d, 0.5)) - even)).toBeLessThan(1e-6);
      expect(Math.abs(informationBits(two(d, 0.9)) - uneven)).toBeLessThan(1e-6);
      expect(Math.abs(informationBits(two(d, 0.1)) - uneven)).toBeLessThan(1e-6);
    },
  );
  test('tells all there is to know when the means are far apart', () => {
    expect(informationBits(two(40, 0.5))).toBeCloseTo(1, 6);
    expect(informationBits(two(40, 0.9))).toBeCloseTo(0.468996, 6);
    expect(entropyBits([0.9, 0.1])).toBeCloseTo(0.468996, 6);
  });
});

describe('a probe of a chain with one bad stage', () => {
  /** Stages up to number k put the probe at one level when bad, the others at another. */
  const bitsAfter = (shares: readonly number[], k: number): number =>
    informationBits(
      shares.map((p, i) => ({ group: i, probability: p, mean: i < k ? -6 : -0.1, sigma: 0.05 })),
    );
  test('of eight equal stages brings most in the middle', () => {
    const eight = Array.from({ length: 8 }, () => 1 / 8);
    const bits = [0.543564, 0.811278, 0.954434, 1, 0.954434, 0.811278, 0.543564];
    bits.forEach((b, i) => {
      expect(Math.abs(bitsAfter(eight, i + 1) - b)).toBeLessThan(1e-6);
    });
  });
  test('of unequal stages follows their probabilities', () => {
    [0.970951, 0.970951, 0.721928, 0.468996].forEach((b, i) => {
      expect(Math.abs(bitsAfter([0.4, 0.2, 0.2, 0.1, 0.1], i + 1) - b)).toBeLessThan(1e-6);
    });
  });
});

import fc from 'fast-check';
import { expect, it } from 'vitest';
import { exponentialOf } from './exponential.ts';

it('is the exponential to two units in the last place', () => {
  fc.assert(
    fc.property(fc.double({ min: -700, max: 700, noNaN: true }), (x) => {
      expect(Math.abs(exponentialOf(x) / Math.exp(x) - 1)).toBeLessThan(4.5e-16);
    }),
    { seed: 1, numRuns: 20_000 },
  );
  expect(exponentialOf(0)).toBe(1);
  expect(exponentialOf(Number.NaN)).toBeNaN();
});

it('rises with its argument, over the seams of its table, too', () => {
  for (let k = -2000; k < 2000; k++) {
    const seam = ((k + 0.5) * Math.LN2) / 64;
    expect(exponentialOf(seam + 1e-15 * Math.abs(seam))).toBeGreaterThanOrEqual(
      exponentialOf(seam - 1e-15 * Math.abs(seam)) * (1 - 3e-16),
    );
  }
});

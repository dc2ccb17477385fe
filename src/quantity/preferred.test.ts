import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { nearestPreferred, preferredValues, type Series } from './index.ts';

const SERIES: readonly Series[] = ['E3', 'E6', 'E12', 'E24', 'E48', 'E96', 'E192'];
const series = fc.constantFrom(...SERIES);

describe('preferred values', () => {
  it('a series has as many values in a decade as its name says, ascending from 1 to below 10', () => {
    for (const name of SERIES) {
      const values = preferredValues(name);
      expect(values).toHaveLength(Number(name.slice(1)));
      expect(values[0]).toBe(1);
      expect(values.at(-1)).toBeLessThan(10);
      expect(values).toEqual([...values].sort((a, b) => a - b));
    }
  });

  it('each series up to E24, and each above, is part of the next finer one', () => {
    for (const [coarse, fine] of [
      ['E3', 'E6'],
      ['E6', 'E12'],
      ['E12', 'E24'],
      ['E48', 'E96'],
      ['E96', 'E192'],
    ] as const) {
      expect(preferredValues(fine)).toEqual(expect.arrayContaining([...preferredValues(coarse)]));
    }
  });

  it('no value of the series is nearer in ratio than the nearest', () => {
    fc.assert(
      fc.property(fc.double({ min: 1e-12, max: 1e12, noNaN: true }), series, (x, name) => {
        const departure = (y: number): number => Math.max(y / x, x / y);
        const found = departure(nearestPreferred(x, name));
        let least = Number.POSITIVE_INFINITY;
        for (let power = -13; power <= 13; power++) {
          for (const step of preferredValues(name)) least = Math.min(least, departure(step * 10 ** power));
        }
        expect(Math.abs(found - least)).toBeLessThan(1e-12);
      }),
      { numRuns: 200 },
    );
  });

  it('a preferred value in any decade is its own nearest, to the bit', () => {
    for (const name of SERIES) {
      for (const power of [-12, -9, -2, 0, 3, 6]) {
        for (const step of preferredValues(name)) {
          const x = Number(`${step}e${power}`);
          expect(nearestPreferred(x, name)).toBe(x);
        }
      }
    }
  });

  it('the nearest may lie in the next decade', () => {
    expect(nearestPreferred(9900, 'E12')).toBe(10_000);
    expect(nearestPreferred(5130, 'E12')).toBe(4700);
  });

  it('what has no nearest value throws with the number', () => {
    expect(() => nearestPreferred(0, 'E12')).toThrow(
      'value to round to E12 must be positive and finite, got 0',
    );
    expect(() => nearestPreferred(-1, 'E12')).toThrow(RangeError);
    expect(() => nearestPreferred(Number.POSITIVE_INFINITY, 'E12')).toThrow(RangeError);
  });
});

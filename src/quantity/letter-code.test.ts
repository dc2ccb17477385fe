import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  type CodedKind,
  letterCode,
  letterFromTolerance,
  toleranceFromLetter,
  valueFromLetterCode,
} from './index.ts';

const parts = fc
  .record({
    kind: fc.constantFrom<CodedKind>('ohms', 'farads'),
    whole: fc.integer({ min: 1, max: 9999 }),
    power: fc.integer({ min: -4, max: 10 }),
  })
  .map(({ kind, whole, power }) => ({
    kind,
    value: Number(`${whole}e${kind === 'ohms' ? power : power - 12}`),
  }));

describe('laws', () => {
  it('a value coded and read again is the same to the bit', () => {
    fc.assert(
      fc.property(parts, ({ kind, value }) => {
        expect(valueFromLetterCode(letterCode(value, kind), kind)).toEqual({
          ok: true,
          value: { value, tolerance: undefined },
        });
      }),
      { numRuns: 2000 },
    );
  });

  it('a tolerance with a letter survives coding', () => {
    const letters = fc.constantFrom(...'ELPWBCDFGHJKMNQTSZ');
    fc.assert(
      fc.property(parts, letters, ({ kind, value }, letter) => {
        const farads = kind === 'farads' ? value : undefined;
        const tolerance = toleranceFromLetter(letter, farads);
        if (!tolerance.ok) throw new Error(tolerance.reason);
        expect(letterFromTolerance(tolerance.value, farads)).toBe(letter);
        expect(valueFromLetterCode(letterCode(value, kind, tolerance.value), kind)).toEqual({
          ok: true,
          value: { value, tolerance: tolerance.value },
        });
      }),
    );
  });
});

describe('codes', () => {
  it('a number given as tolerance is percent either way', () => {
    expect(letterCode(4700, 'ohms', 5)).toBe('4K7J');
    expect(letterCode(2.2e-9, 'farads', 10)).toBe('2n2K');
  });

  it('the last letter is the tolerance and the one before it the point', () => {
    const five = { below: 5, above: 5, unit: '%' };
    const ten = { below: 10, above: 10, unit: '%' };
    expect(valueFromLetterCode('47KK', 'ohms')).toEqual({ ok: true, value: { value: 47e3, tolerance: ten } });
    expect(valueFromLetterCode(' R47J ', 'ohms')).toEqual({
      ok: true,
      value: { value: 0.47, tolerance: five },
    });
    expect(valueFromLetterCode('4K4', 'ohms')).toMatchObject({ value: { value: 4400 } });
    expect(valueFromLetterCode('4k7', 'ohms')).toMatchObject({ value: { value: 4700 } });
    expect(valueFromLetterCode('2u2', 'farads')).toMatchObject({ value: { value: 2.2e-6 } });
    expect(valueFromLetterCode('2\u03bc2', 'farads')).toMatchObject({ value: { value: 2.2e-6 } });
  });

  it('below 10 pF a letter is picofarads, and the percentage of the same letter cannot be written', () => {
    expect(valueFromLetterCode('4p7C', 'farads')).toMatchObject({
      value: { tolerance: { below: 0.25, above: 0.25, unit: 'pF' } },
    });
    expect(valueFromLetterCode('10pC', 'farads')).toMatchObject({
      value: { tolerance: { below: 0.25, unit: '%' } },
    });
    expect(() => letterCode(4.7e-12, 'farads', 0.25)).toThrow(RangeError);
    expect(letterFromTolerance(0.25, 4.7e-12)).toBeUndefined();
  });

  it.each<[string, CodedKind, string]>([
    ['', 'ohms', 'not-a-code'],
    ['R', 'ohms', 'not-a-code'],
    ['4700', 'ohms', 'not-a-code'],
    ['4.7K', 'ohms', 'not-a-code'],
    ['4K7K7', 'ohms', 'not-a-code'],
    ['4K7JJ', 'ohms', 'not-a-code'],
    ['4K 7', 'ohms', 'not-a-code'],
    ['-4K7', 'ohms', 'not-a-code'],
    ['12345K', 'ohms', 'not-a-code'],
    ['4n7', 'ohms', 'unknown-letter'],
    ['4r7', 'ohms', 'unknown-letter'],
    ['4K7', 'farads', 'unknown-letter'],
    ['4k7', 'farads', 'unknown-letter'],
    ['4M7', 'farads', 'unknown-letter'],
    ['4K7j', 'ohms', 'unknown-letter'],
    ['4K7X', 'ohms', 'unknown-letter'],
  ])('%j is refused for %s as %s', (text, kind, code) => {
    expect(valueFromLetterCode(text, kind)).toMatchObject({ ok: false, code });
  });

  it('what cannot be written is refused with the number', () => {
    expect(() => letterCode(-5, 'ohms')).toThrow('value to code must be positive and finite, got -5 ohms');
    expect(() => letterCode(12345, 'ohms')).toThrow('at most 4 significant digits, got 12345 ohms');
    expect(() => letterCode(1e-5, 'ohms')).toThrow('beyond the letters RKMGT, got 0.00001 ohms');
    expect(() => letterCode(1e15, 'ohms')).toThrow('beyond the letters');
    expect(() => letterCode(1000, 'ohms', 7)).toThrow('tolerance without a letter');
  });

  it('a letter of the wrong case or of a name that every object has is no tolerance', () => {
    for (const letter of ['j', '', 'constructor', 'JJ']) {
      expect(toleranceFromLetter(letter)).toMatchObject({ ok: false, code: 'unknown-letter' });
    }
  });
});

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { formatValue, parseValue, type UnitSymbol } from './index.ts';

const size = fc.double({ min: 1e-15, max: 9e14, noNaN: true });
const units = fc.constantFrom<UnitSymbol | ''>('Ω', 'F', 'H', 'V', 'A', 'W', 's', 'Hz', '°C', '%', '');

describe('laws', () => {
  it('what is written for people reads back within half of the last digit', () => {
    fc.assert(
      fc.property(
        size,
        fc.boolean(),
        units,
        fc.integer({ min: 1, max: 15 }),
        (magnitude, minus, unit, digits) => {
          const x = minus ? -magnitude : magnitude;
          const read = parseValue(formatValue(x, unit, digits), unit === '' ? {} : { unit });
          expect(read.ok).toBe(true);
          if (read.ok)
            expect(Math.abs(read.value - x)).toBeLessThanOrEqual(
              (0.5 * 10 ** (1 - digits) + 2e-16) * magnitude,
            );
        },
      ),
      { numRuns: 2000 },
    );
  });

  it('a value of at most six digits reads back to the bit when no digits are asked for', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 1, max: 999_999 }),
        fc.integer({ min: -15, max: 9 }),
        units,
        (whole, power, unit) => {
          const x = Number(`${whole}e${power}`);
          expect(parseValue(formatValue(x, unit), unit === '' ? {} : { unit })).toEqual({
            ok: true,
            value: x,
          });
        },
      ),
    );
  });

  it('between 1 and 1000 stand before the prefix', () => {
    fc.assert(
      fc.property(size, fc.integer({ min: 1, max: 15 }), (x, digits) => {
        const shown = Number.parseFloat(formatValue(x, 'V', digits));
        expect(shown).toBeGreaterThanOrEqual(1);
        expect(shown).toBeLessThan(1000);
      }),
    );
  });
});

describe('cases', () => {
  it.each<[number, UnitSymbol | '', number | undefined, string]>([
    [4700, 'Ω', undefined, '4.7 kΩ'],
    [47, 'Ω', undefined, '47 Ω'],
    [22e-9, 'F', undefined, '22 nF'],
    [100e-6, 'F', undefined, '100 µF'],
    [0.1 + 0.2, 'V', undefined, '300 mV'],
    [-6.1, 'V', 3, '−6.10 V'],
    [-0.34, 'V', 3, '−340 mV'],
    [-0.34, 'V', 2, '−340 mV'],
    [999.96, 'Ω', 4, '1.000 kΩ'],
    [999_999.9, 'Ω', undefined, '1 MΩ'],
    [0, 'V', undefined, '0 V'],
    [0, 'V', 3, '0.00 V'],
    [-0, 'V', 3, '0.00 V'],
    [22, '°C', undefined, '22 °C'],
    [-1500, '°C', 2, '−1500 °C'],
    [0.05, '%', undefined, '0.05 %'],
    [3600, 's', undefined, '3600 s'],
    [4e-6, 's', undefined, '4 µs'],
    [4700, '', undefined, '4.7k'],
    [1.5e20, 'Ω', undefined, '1.5e20 Ω'],
    [2.5e-18, 'A', 3, '2.50e-18 A'],
  ])('%d %s in %s digits is %j', (x, unit, digits, expected) => {
    expect(formatValue(x, unit, digits)).toBe(expected);
  });

  it('a value that is no number, or digits that are none, are our fault and throw', () => {
    expect(() => formatValue(Number.NaN, 'V')).toThrow('value to format must be finite, got NaN');
    expect(() => formatValue(1, 'V', 0)).toThrow(RangeError);
    expect(() => formatValue(1, 'V', 2.5)).toThrow(RangeError);
  });
});

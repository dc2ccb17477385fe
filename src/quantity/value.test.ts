import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { parseValue, type UnitSymbol, type ValueOptions } from './index.ts';

function value(text: string, options?: ValueOptions): number {
  const read = parseValue(text, options);
  if (!read.ok) throw new Error(`${read.code}: ${read.reason}`);
  return read.value;
}
function code(text: string, options?: ValueOptions): string {
  const read = parseValue(text, options);
  return read.ok ? `taken as ${read.value}` : read.code;
}

describe('laws', () => {
  it('every number written by the language itself reads back to the bit', () => {
    fc.assert(
      fc.property(fc.double({ noDefaultInfinity: true, noNaN: true }), (x) => {
        expect(value(String(x))).toBe(x === 0 ? 0 : x);
      }),
      { numRuns: 2000 },
    );
  });

  it('a number with a prefix is the double nearest to what is written', () => {
    const powers = { f: -15, p: -12, n: -9, u: -6, µ: -6, μ: -6, m: -3, k: 3, K: 3, M: 6, G: 9, T: 12 };
    fc.assert(
      fc.property(
        fc.integer({ min: -999_999, max: 999_999 }),
        fc.nat({ max: 6 }),
        fc.constantFrom(...Object.entries(powers)),
        (whole, decimals, [letter, power]) => {
          const number = (whole / 10 ** decimals).toFixed(decimals);
          expect(value(number + letter)).toBe(Number(`${number}e${power}`) || 0);
        },
      ),
      { numRuns: 2000 },
    );
  });

  it('the letter in place of the point and the letter after the number say the same', () => {
    fc.assert(
      fc.property(
        fc.nat({ max: 9999 }),
        fc.stringMatching(/^[0-9]{1,4}$/),
        fc.constantFrom('p', 'n', 'u', 'µ', 'm', 'k', 'K', 'M', 'G', 'R'),
        (whole, decimals, letter) => {
          expect(value(`${whole}${letter}${decimals}`)).toBe(value(`${whole}.${decimals}${letter}`));
        },
      ),
    );
  });

  it('any text is answered, and a refusal carries its reason', () => {
    const scraps = fc.array(fc.constantFrom(...'0123456789.,-+−eEkKmMRuµnpΩVFH% \u00a0x'), { maxLength: 12 });
    fc.assert(
      fc.property(
        fc.oneof(
          fc.string(),
          scraps.map((s) => s.join('')),
        ),
        fc.boolean(),
        (text, decimalComma) => {
          const read = parseValue(text, { decimalComma, unit: 'V' });
          if (read.ok) expect(Number.isFinite(read.value)).toBe(true);
          else expect(read.reason.length).toBeGreaterThan(10);
        },
      ),
      { numRuns: 5000 },
    );
  });
});

describe('what is taken', () => {
  it.each([
    ['-11.8', -11.8],
    ['4700', 4700],
    ['1e-6', 1e-6],
    ['2.5E+3', 2500],
    ['+3', 3],
    ['.5', 0.5],
    ['5.', 5],
    ['−6.1', -6.1],
    ['1e−3', 1e-3],
    ['-0', 0],
    ['  12\t', 12],
    ['\u00a012\u202f', 12],
    ['4.7k', 4700],
    ['22n', 22e-9],
    ['1M', 1e6],
    ['1m', 1e-3],
    ['100u', 100e-6],
    ['100\u00b5', 100e-6],
    ['100\u03bc', 100e-6],
    ['4.7 k', 4700],
    ['4K7', 4700],
    ['4k7', 4700],
    ['R47', 0.47],
    ['47R', 47],
    ['4R7', 4.7],
    ['2n2', 2.2e-9],
    ['n33', 0.33e-9],
    ['1M5', 1.5e6],
    ['1m5', 1.5e-3],
    ['-1M5', -1.5e6],
    ['123456789012345678', 123456789012345680],
  ])('%j is %d', (text, expected) => {
    expect(value(text)).toBe(expected);
  });

  it.each<[string, UnitSymbol, number]>([
    ['4.7 kΩ', 'Ω', 4700],
    ['4.7kohm', 'Ω', 4700],
    ['10 M\u2126', 'Ω', 10e6],
    ['10 mΩ', 'Ω', 0.01],
    ['47 Ohm', 'Ω', 47],
    ['4R7', 'Ω', 4.7],
    ['22 nF', 'F', 22e-9],
    ['22n', 'F', 22e-9],
    ['1F', 'F', 1],
    ['F22', 'F', 0.22],
    ['-6.1 V', 'V', -6.1],
    ['−340\u00a0mV', 'V', -0.34],
    ['340 mV', 'V', 0.34],
    ['4V7', 'V', 4.7],
    ['5e-3 V', 'V', 0.005],
    ['10 mH', 'H', 0.01],
    ['5 µA', 'A', 5e-6],
    ['60mW', 'W', 0.06],
    ['4 µs', 's', 4e-6],
    ['2MHz', 'Hz', 2e6],
    ['22 °C', '°C', 22],
    ['22C', '°C', 22],
    ['5%', '%', 5],
    ['5', '%', 5],
  ])('%j with the unit %s expected is %d', (text, unit, expected) => {
    expect(value(text, { unit })).toBe(expected);
  });

  it('a decimal comma is read when the caller asks for it, and a point still is', () => {
    expect(value('-11,8', { decimalComma: true })).toBe(-11.8);
    expect(value('4,7k', { decimalComma: true })).toBe(4700);
    expect(value('1,5e-6', { decimalComma: true })).toBe(1.5e-6);
    expect(value('4.7 kΩ', { decimalComma: true, unit: 'Ω' })).toBe(4700);
  });
});

describe('what is refused', () => {
  it.each([
    ['', 'empty'],
    ['   ', 'empty'],
    ['9'.repeat(65), 'too-long'],
    ['abc', 'not-a-number'],
    ['-', 'not-a-number'],
    ['.', 'not-a-number'],
    ['k', 'not-a-number'],
    ['R', 'not-a-number'],
    ['--5', 'not-a-number'],
    ['- 5', 'not-a-number'],
    ['NaN', 'not-a-number'],
    ['Infinity', 'not-a-number'],
    ['4,7', 'decimal-comma'],
    ['4,700', 'decimal-comma'],
    [',5', 'decimal-comma'],
    [',', 'not-a-number'],
    ['4,7k', 'decimal-comma'],
    ['4.7.1', 'two-points'],
    ['1.234,5', 'two-points'],
    ['4 700', 'inner-space'],
    ['1e3k', 'exponent-and-prefix'],
    ['0x10', 'unknown-suffix'],
    ['1_000', 'unknown-suffix'],
    ['4 K7', 'unknown-suffix'],
    ['4.7K2', 'unknown-suffix'],
    ['4K7J', 'unknown-suffix'],
    ['4r7', 'unknown-suffix'],
    ['5d', 'unknown-suffix'],
    ['1e', 'unknown-suffix'],
    ['5 V', 'unexpected-unit'],
    ['4.7 kΩ', 'unexpected-unit'],
    ['1e999', 'out-of-range'],
    ['1e-999', 'out-of-range'],
    ['1e99999999999999999999999', 'out-of-range'],
  ])('%j is refused as %s', (text, expected) => {
    expect(code(text)).toBe(expected);
  });

  it.each<[string, UnitSymbol, string]>([
    ['5 V', 'A', 'wrong-unit'],
    ['4R7', 'V', 'unknown-suffix'],
    ['5 xV', 'V', 'unknown-suffix'],
    ['22 m°C', '°C', 'prefix-not-allowed'],
    ['22m', '°C', 'prefix-not-allowed'],
    ['4K7', '%', 'prefix-not-allowed'],
    ['1e3 kΩ', 'Ω', 'exponent-and-prefix'],
  ])('%j where %s is expected is refused as %s', (text, unit, expected) => {
    expect(code(text, { unit })).toBe(expected);
  });

  it('both marks in one number are refused even where the comma is a decimal mark', () => {
    expect(code('1.234,5', { decimalComma: true })).toBe('two-points');
    expect(code('1,234,5', { decimalComma: true })).toBe('two-points');
  });

  it('the reason names what was found and what is allowed', () => {
    expect(parseValue('4,7k')).toMatchObject({
      reason: 'comma in "4,7k": the decimal mark is a point, and thousands are not separated',
    });
    expect(parseValue('5 V', { unit: 'A' })).toMatchObject({ reason: 'unit V where A is expected: "5 V"' });
    expect(parseValue('5 xV', { unit: 'V' })).toMatchObject({
      reason: 'prefix of V not known in "5 xV": f p n µ m k M G T',
    });
  });

  it('a message quotes the beginning of a long text only', () => {
    const read = parseValue('garbage '.repeat(1_000_000));
    expect(read.ok ? '' : read.reason.length).toBeLessThan(120);
  });
});

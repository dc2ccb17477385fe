import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { NumberScanner } from './number-scanner.ts';

const scanner = new NumberScanner();
const encoder = new TextEncoder();

function scanned(text: string, decimal = '.'): number {
  const value = scanner.number(encoder.encode(`${text}\n`), 0, decimal.charCodeAt(0));
  return scanner.end === text.length ? value : Number.NaN;
}

describe('numbers from bytes', () => {
  const digits = fc.stringMatching(/^\d{1,24}$/);
  const written = fc
    .tuple(
      fc.constantFrom('', '-', '+'),
      digits,
      fc.option(fc.stringMatching(/^\d{0,24}$/)),
      fc.option(fc.tuple(fc.constantFrom('e', 'E'), fc.constantFrom('', '-', '+'), fc.nat(330))),
    )
    .map(
      ([sign, whole, part, exponent]) =>
        `${sign}${whole}${part === null ? '' : `.${part}`}${exponent?.join('') ?? ''}`,
    );

  it('are the doubles nearest to what is written, as the language itself reads them', () => {
    fc.assert(
      fc.property(written, (text) => {
        expect(scanned(text)).toBe(Number(text));
        expect(scanned(text.replace('.', ','), ',')).toBe(Number(text));
      }),
      { numRuns: 3000 },
    );
    fc.assert(
      fc.property(fc.double({ noNaN: true, noDefaultInfinity: true }), (value) => {
        expect(scanned(`${value}`)).toBe(Number(`${value}`));
        expect(scanned(value.toExponential(8))).toBe(Number(value.toExponential(8)));
      }),
      { numRuns: 3000 },
    );
  });

  it.each(['', '-', '.', '+.', 'e5', '1e', '1e+', '--1', '1.2.3', '1 2', '0x10', 'Infinity', '1_000'])(
    '%j is none',
    (text) => {
      expect(scanned(text)).toBeNaN();
    },
  );

  it('say which digits are written, and which power of ten the last one counts', () => {
    const written = (text: string) => {
      scanned(text);
      return [scanner.digits, scanner.power];
    };
    expect(['1.250', '-012', '1.2e-2', '3E+6'].map(written)).toEqual([
      [1250, -3],
      [12, 0],
      [12, -3],
      [3, 6],
    ]);
  });
});

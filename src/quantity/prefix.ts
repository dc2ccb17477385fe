/**
 * Powers of ten and the letters that stand for them.
 *
 * A quantity's text is a whole number times a power of ten. Keeping the two apart until one correctly rounded
 * step makes `22n` the same double as `22e-9`; `22 * 1e-9` is not.
 */

/** 1 to 1e22: the powers of ten that a double holds exactly. */
const EXACT_POWERS = Array.from({ length: 23 }, (_, i) => Number(`1e${i}`));

/** The prefix letters that are written, ascending, each with its exponent. Both micro signs and `u` are read. */
export const PREFIXES: readonly (readonly [letter: string, exponent: number])[] = [
  ['f', -15],
  ['p', -12],
  ['n', -9],
  ['µ', -6],
  ['m', -3],
  ['', 0],
  ['k', 3],
  ['M', 6],
  ['G', 9],
  ['T', 12],
];

/**
 * Exponent of ten of an SI prefix letter, or `undefined`. Upper and lower case differ (`m` milli, `M` mega);
 * only `K` is taken for `k`, because the letter code writes it so and no kelvin occurs here.
 */
export function prefixExponent(letter: string): number | undefined {
  switch (letter) {
    case 'f':
      return -15;
    case 'p':
      return -12;
    case 'n':
      return -9;
    case 'u':
    case '\u00b5':
    case '\u03bc':
      return -6;
    case 'm':
      return -3;
    case 'k':
    case 'K':
      return 3;
    case 'M':
      return 6;
    case 'G':
      return 9;
    case 'T':
      return 12;
    default:
      return undefined;
  }
}

/**
 * `mantissa * 10^exponent`, rounded once. `mantissa` is a whole number of at most 15 digits.
 * Exact operands make one division or product correctly rounded (Clinger, How to read floating point numbers
 * accurately, 1990; from memory); outside that range the platform's own reader does it.
 */
export function scaled(mantissa: number, exponent: number): number {
  if (exponent >= 0 && exponent <= 22) return mantissa * EXACT_POWERS[exponent]!;
  if (exponent < 0 && exponent >= -22) return mantissa / EXACT_POWERS[-exponent]!;
  return Number(`${mantissa}e${exponent}`);
}

/** A positive value rounded to `digits` significant digits: the digits as a whole number, and the decimal exponent of the first. */
export function significand(
  value: number,
  digits: number,
): { readonly digits: string; readonly exponent: number } {
  const text = value.toExponential(digits - 1);
  const e = text.indexOf('e');
  return { digits: text.slice(0, e).replace('.', ''), exponent: Number(text.slice(e + 1)) };
}

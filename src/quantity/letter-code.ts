import { scaled, significand } from './prefix.ts';
import { type Parsed, quoted, refusal } from './refusal.ts';
import { letterFromTolerance, type Tolerance, toleranceFromLetter } from './tolerance.ts';

export type CodedKind = 'ohms' | 'farads';

/** What a part's marking says. */
export interface CodedValue {
  /** Ohms or farads. */
  readonly value: number;
  /** `undefined` where the marking has no tolerance letter. */
  readonly tolerance: Tolerance | undefined;
}

/** The letters for the point, ascending by 1000, from the exponent at which they begin. Source: IEC 60062, from memory. */
const SCALES: Readonly<Record<CodedKind, { readonly letters: string; readonly begin: number }>> = {
  ohms: { letters: 'RKMGT', begin: 0 },
  farads: { letters: 'pnµmF', begin: -12 },
};
const MOST_DIGITS = 4;

/**
 * The letter code of a value, the letter standing for the decimal point and two to four digits around it: 4700 ohms
 * is `4K7`, 0.47 ohms `R47`, 1 nF `1n0`, 59.04 kilohms `59K04`; then the tolerance letter, if a tolerance is given.
 *
 * @param tolerance  a bare number is percent either way
 * @throws RangeError  when the value is not positive, has more than four significant digits, is beyond the letters, or the tolerance has no letter
 * @source IEC 60062, from memory
 */
export function letterCode(value: number, kind: CodedKind, tolerance?: Tolerance | number): string {
  const { letters, begin } = SCALES[kind];
  if (!(value > 0 && value < Number.POSITIVE_INFINITY)) {
    throw new RangeError(`value to code must be positive and finite, got ${value} ${kind}`);
  }
  const { digits, exponent } = significand(value, MOST_DIGITS);
  // 1e-9 forgives what sums of doubles leave behind and nothing that a person would write.
  if (Math.abs(scaled(Number(digits), exponent - MOST_DIGITS + 1) - value) > 1e-9 * value) {
    throw new RangeError(`value to code has at most ${MOST_DIGITS} significant digits, got ${value} ${kind}`);
  }
  const index = Math.max(0, Math.floor((exponent - begin) / 3));
  const letter = letters.charAt(index);
  const whole = exponent - begin - 3 * index + 1;
  const kept = digits.replace(/(?!^)0+$/, '');
  const before = whole > 0 ? kept.slice(0, whole).padEnd(whole, '0') : '';
  let after = whole > 0 ? kept.slice(whole) : '0'.repeat(-whole) + kept;
  if (letter === '' || after.length > MOST_DIGITS) {
    throw new RangeError(`value to code is beyond the letters ${letters}, got ${value} ${kind}`);
  }
  // At least two digits: 1M0, R10, but 47R.
  if (before.length + after.length < 2) after += '0';

  if (tolerance === undefined) return before + letter + after;
  const mark = letterFromTolerance(tolerance, kind === 'farads' ? value : undefined);
  if (mark === undefined) {
    throw new RangeError(`tolerance without a letter, got ${JSON.stringify(tolerance)} at ${value} ${kind}`);
  }
  return before + letter + after + mark;
}

/**
 * Value and tolerance from a part's letter code, spaces around it allowed: `4K7J` is 4700 ohms, 5 %. The letter for the
 * point is always there and comes first, so the `K` of `47K` is kilohms and the last one of `47KK` 10 %. For the
 * micro sign `u` and both code points are read, and `k` for `K`.
 */
export function valueFromLetterCode(text: string, kind: CodedKind): Parsed<CodedValue> {
  const { letters, begin } = SCALES[kind];
  const code = text.length > 16 ? '' : text.trim();
  const match = /^([0-9]{0,4})(\p{L})([0-9]{0,4})(\p{L}?)$/u.exec(code);
  if (match === null || (match[1] === '' && match[3] === '')) {
    return refusal('not-a-code', `letter code expected, such as ${EXAMPLES[kind]}; found ${quoted(text)}`);
  }
  const [, before = '', letter = '', after = '', mark = ''] = match;
  const index = letters.indexOf(letter.replace(/[u\u03bc]/, 'µ').replace('k', 'K'));
  if (index < 0) {
    return refusal(
      'unknown-letter',
      `letter ${quoted(letter)} for the point not known in ${quoted(text)}: one of ${[...letters].join(' ')}`,
    );
  }
  const value = scaled(Number(before + after), begin + 3 * index - after.length);
  if (mark === '') return { ok: true, value: { value, tolerance: undefined } };
  const tolerance = toleranceFromLetter(mark, kind === 'farads' ? value : undefined);
  return tolerance.ok ? { ok: true, value: { value, tolerance: tolerance.value } } : tolerance;
}

const EXAMPLES: Readonly<Record<CodedKind, string>> = { ohms: '4K7 or R47J', farads: '2n2 or 47pK' };

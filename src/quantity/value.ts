import { prefixExponent, scaled } from './prefix.ts';
import { type Parsed, quoted, type Refusal, refusal } from './refusal.ts';
import { pointLetter, spells, takesPrefix, type UnitSymbol, unitSpelt } from './unit.ts';

export interface ValueOptions {
  /** The unit expected: it may then stand after the number. Without it a unit is refused. */
  readonly unit?: UnitSymbol;
  /** Take `,` for the decimal point as well (a point still works; both in one number are refused). */
  readonly decimalComma?: boolean;
}

/** No honest value is longer, and a message about a longer one helps nobody. */
const LONGEST = 64;
/** Digits that a double holds exactly as a whole number, whatever they are. */
const EXACT_DIGITS = 15;

const ZERO = 48;
const POINT = 46;
const COMMA = 44;

function isSpace(code: number): boolean {
  return code === 32 || code === 9 || code === 13 || code === 10 || code === 0xa0 || code === 0x202f;
}
function isDigit(code: number): boolean {
  return code >= ZERO && code <= ZERO + 9;
}
function isMinus(code: number): boolean {
  return code === 45 || code === 0x2212;
}

/**
 * The number that a text of the machine folder stands for: `-11.8`, `4700`, `1e-6`; one SI prefix letter after it,
 * `4.7k`, `22n`, `100µ`; the letter for the decimal point, `4K7`, `R47`, `2n2`; and, when `options.unit` names
 * the unit, that unit after it, `4.7 kΩ`, `22 nF`. Spaces around it and before the suffix do not count.
 *
 * The result is the double nearest to what is written. Negative zero becomes zero. Whether a number makes
 * sense (a capacitor of 47 F) is the caller's to judge.
 *
 * @returns the value in the unit without prefix, or a refusal with its reason; it does not throw for bad text
 */
export function parseValue(text: string, options: ValueOptions = {}): Parsed<number> {
  if (text.length > LONGEST) {
    return refusal('too-long', `${text.length} characters, a value has at most ${LONGEST}: ${quoted(text)}`);
  }
  let start = 0;
  let end = text.length;
  while (start < end && isSpace(text.charCodeAt(start))) start++;
  while (end > start && isSpace(text.charCodeAt(end - 1))) end--;
  if (start === end) return refusal('empty', 'nothing where a number is expected');

  let i = start;
  const negative = isMinus(text.charCodeAt(i));
  if (negative || text.charCodeAt(i) === 43) i++;

  // One pass over the digits. `mantissa` is only trusted up to EXACT_DIGITS; beyond that the text is read again.
  const first = i;
  let mantissa = 0;
  let digits = 0;
  let point = -1;
  for (; i < end; i++) {
    const code = text.charCodeAt(i);
    if (isDigit(code)) {
      mantissa = mantissa * 10 + (code - ZERO);
      digits++;
    } else if (point < 0 && (code === POINT || (code === COMMA && options.decimalComma === true))) {
      point = i;
    } else {
      break;
    }
  }
  const decimals = point < 0 ? 0 : i - point - 1;
  if (i === end && digits > 0 && digits <= EXACT_DIGITS) {
    const size = scaled(mantissa, -decimals);
    return { ok: true, value: negative && size !== 0 ? -size : size };
  }

  const tail = suffix(text, i, end, { digits, point }, options);
  if (!tail.ok) return tail;
  const written = text.slice(first, i).replace(/[.,]/, '') + tail.value.digits;
  const size = Number(`${written}e${tail.value.exponent - decimals - tail.value.digits.length}`);
  if (!Number.isFinite(size) || (size === 0 && /[1-9]/.test(written))) {
    return refusal('out-of-range', `number beyond what a computer's number holds: ${quoted(text)}`);
  }
  return { ok: true, value: negative && size !== 0 ? -size : size };
}

/** What was read before the suffix: how many digits, and where the point stood (-1: nowhere). */
interface Head {
  readonly digits: number;
  readonly point: number;
}
/** What follows: digits after a letter for the point, and the power of ten. */
interface Tail {
  readonly digits: string;
  readonly exponent: number;
}

/** Reads exponent, letter for the point, prefix and unit from `at` to `end`, or says why they are none. */
function suffix(text: string, at: number, end: number, head: Head, options: ValueOptions): Parsed<Tail> {
  const rest = text.slice(at, end);
  const letter = rest.charAt(0);
  const power = letter === pointLetter(options.unit) && letter !== '' ? 0 : prefixExponent(letter);

  if (power !== undefined && head.point < 0 && /^[0-9]+$/.test(rest.slice(1))) {
    return prefixed({ digits: rest.slice(1), exponent: power }, text, options.unit);
  }
  if ((letter === ',' || letter === '.') && (head.digits > 0 || isDigit(rest.charCodeAt(1)))) {
    return secondMark(text, letter, head);
  }
  if (head.digits === 0) return notANumber(text);

  let exponent = 0;
  let unitText = rest;
  const tens = /^[eE]([+\-\u2212]?)([0-9]+)/.exec(rest);
  if (tens !== null) {
    exponent = Number(tens[2]) * (tens[1] === '' || tens[1] === '+' ? 1 : -1);
    unitText = rest.slice(tens[0].length);
  }
  unitText = unitText.trimStart();
  if (/^[0-9]/.test(unitText)) {
    return refusal('inner-space', `space inside a number: write the digits together in ${quoted(text)}`);
  }

  const { unit } = options;
  if (unitText === '' || (unit !== undefined && spells(unitText, unit)) || unitText === pointLetter(unit)) {
    return { ok: true, value: { digits: '', exponent } };
  }
  const prefix = prefixExponent(unitText.charAt(0));
  const after = unitText.slice(1);
  if (prefix !== undefined && (after === '' || (unit !== undefined && spells(after, unit)))) {
    if (tens !== null) {
      return refusal(
        'exponent-and-prefix',
        `power of ten and prefix together, one is enough: ${quoted(text)}`,
      );
    }
    return prefixed({ digits: '', exponent: prefix }, text, unit);
  }
  return unknownSuffix(text, unitText, unit);
}

function prefixed(tail: Tail, text: string, unit: UnitSymbol | undefined): Parsed<Tail> {
  if (unit !== undefined && !takesPrefix(unit)) {
    return refusal('prefix-not-allowed', `prefix with ${unit}: write the plain number for ${quoted(text)}`);
  }
  return { ok: true, value: tail };
}

function notANumber(text: string): Refusal {
  return refusal('not-a-number', `number expected, such as -11.8, 4.7k or 4K7; found ${quoted(text)}`);
}

/** A comma, or a second point, right after the digits. */
function secondMark(text: string, mark: string, head: Head): Refusal {
  if (mark === ',' && head.point < 0) {
    return refusal(
      'decimal-comma',
      `comma in ${quoted(text)}: the decimal mark is a point, and thousands are not separated`,
    );
  }
  return refusal(
    'two-points',
    `two decimal marks in ${quoted(text)}: write one, and do not separate thousands`,
  );
}

function unknownSuffix(text: string, found: string, expected: UnitSymbol | undefined): Refusal {
  const unit = unitSpelt(found);
  if (unit !== undefined && unit === expected) {
    return refusal('unknown-suffix', `prefix of ${unit} not known in ${quoted(text)}: f p n µ m k M G T`);
  }
  if (unit !== undefined) {
    return expected === undefined
      ? refusal('unexpected-unit', `unit ${unit} in ${quoted(text)}: write the number alone here`)
      : refusal('wrong-unit', `unit ${unit} where ${expected} is expected: ${quoted(text)}`);
  }
  return refusal(
    'unknown-suffix',
    `${quoted(found)} after the number in ${quoted(text)}: one of f p n µ m k M G T may stand there` +
      (expected === undefined ? '' : `, and ${expected}`),
  );
}

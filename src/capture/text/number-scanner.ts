/**
 * Decimal numbers straight from bytes. The result is the double nearest to the text, as `Number()` gives it: up to 2^53 and a
 * power of ten up to 22 both factors are exact, so that one multiplication or division rounds once (W. D. Clinger, "How to read
 * floating point numbers accurately", PLDI 1990, from memory); whatever is longer is left to `Number()`.
 */

const POWERS = Float64Array.from({ length: 23 }, (_, k) => Number(`1e${k}`));
const EXACT = POWERS.length - 1;
/** An exponent of more digits than this is no number of any instrument; it is where the sum of the digits stops. */
const LARGEST_EXPONENT = 9999;

const PLUS = 43;
const MINUS = 45;

export class NumberScanner {
  /** Position after the number that was read last. */
  end = 0;
  /** Power of ten that its last written digit counts: -3 in `1.250` and in `1.2e-2`. */
  power = 0;
  /** All its written digits as a whole number, leading zeros left out; beyond 2^53 nearly so. */
  digits = 0;

  /**
   * The number that begins at `at`, or NaN where none does. Signs, digits, a decimal sign, an exponent; no blanks.
   * The bytes must hold one that belongs to no number after it, such as a line end.
   *
   * @param decimal  the byte of the decimal sign
   */
  number(bytes: Uint8Array, at: number, decimal: number): number {
    let p = at;
    let c = bytes[p]!;
    const negative = c === MINUS;
    if (negative || c === PLUS) c = bytes[++p]!;
    const first = p;
    let digits = 0;
    let power = 0;
    // Beyond 2^53 the sum is not exact, but it stays beyond.
    while (c >= 48 && c <= 57) {
      digits = digits * 10 + (c - 48);
      c = bytes[++p]!;
    }
    let written = p - first;
    if (c === decimal) {
      c = bytes[++p]!;
      const point = p;
      while (c >= 48 && c <= 57) {
        digits = digits * 10 + (c - 48);
        c = bytes[++p]!;
      }
      power = point - p;
      written -= power;
    }
    if (written === 0) return Number.NaN;
    if (c === 101 || c === 69) {
      c = bytes[++p]!;
      const down = c === MINUS;
      if (down || c === PLUS) c = bytes[++p]!;
      if (!(c >= 48 && c <= 57)) return Number.NaN;
      let exponent = 0;
      while (c >= 48 && c <= 57) {
        if (exponent < LARGEST_EXPONENT) exponent = exponent * 10 + (c - 48);
        c = bytes[++p]!;
      }
      power += down ? -exponent : exponent;
    }
    this.end = p;
    this.power = power;
    this.digits = digits;
    if (digits > Number.MAX_SAFE_INTEGER || power > EXACT || power < -EXACT) {
      return Number(ascii(bytes, at, p, decimal));
    }
    const value = power < 0 ? digits / POWERS[-power]! : digits * POWERS[power]!;
    return negative ? -value : value;
  }
}

function ascii(bytes: Uint8Array, from: number, to: number, decimal: number): string {
  let text = '';
  for (let i = from; i < to; i++) text += bytes[i] === decimal ? '.' : String.fromCharCode(bytes[i]!);
  return text;
}

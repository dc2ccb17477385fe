import { PREFIXES, significand } from './prefix.ts';
import { takesPrefix, type UnitSymbol } from './unit.ts';

/** Digits kept where the caller does not say: enough for any part value, too few to show rounding noise. */
const USUAL_DIGITS = 6;

/**
 * A value for people to read, with prefix, a space and the unit, and U+2212 for minus: `4.7 kΩ`, `−6.10 V`.
 * With no unit the prefix joins the number, `4.7k`, so that the folder could hold it.
 *
 * @param digits  significant digits, 1 to 15, zeros kept (a reading); without it as few as the value needs, at most 6 (a part)
 * @throws RangeError  when the value is not finite or `digits` is not such a number
 */
export function formatValue(value: number, unit: UnitSymbol | '' = '', digits?: number): string {
  if (!Number.isFinite(value)) throw new RangeError(`value to format must be finite, got ${value}`);
  if (digits !== undefined && !(Number.isInteger(digits) && digits >= 1 && digits <= 15)) {
    throw new RangeError(`significant digits must be a whole number from 1 to 15, got ${digits}`);
  }
  // Rounding comes first, since it may carry into the next prefix: 999.96 is 1.00 k.
  const round = significand(Math.abs(value), digits ?? USUAL_DIGITS);
  const kept = digits === undefined ? round.digits.replace(/(?!^)0+$/, '') : round.digits;
  const sign = value < 0 ? '−' : '';
  const gap = unit === '' ? '' : ' ';

  const power = 3 * Math.floor(round.exponent / 3);
  const prefix = PREFIXES.find(([, exponent]) => exponent === power)?.[0];
  if (unit !== '' && !takesPrefix(unit)) {
    return `${sign}${placed(kept, round.exponent)} ${unit}`;
  }
  // Nobody counts kiloseconds.
  if (unit === 's' && power > 0) return `${sign}${placed(kept, round.exponent)} s`;
  if (prefix === undefined) return `${sign}${placed(kept, 0)}e${round.exponent}${gap}${unit}`;
  return `${sign}${placed(kept, round.exponent - power)}${gap}${prefix}${unit}`;
}

/** The digits with the point after the digit of 10^0, the first digit standing at 10^`exponent`. */
function placed(digits: string, exponent: number): string {
  if (exponent < 0) return `0.${'0'.repeat(-exponent - 1)}${digits}`;
  const whole = digits.slice(0, exponent + 1).padEnd(exponent + 1, '0');
  return digits.length > exponent + 1 ? `${whole}.${digits.slice(exponent + 1)}` : whole;
}

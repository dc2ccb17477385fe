import { quantityOf } from '../machine/index.ts';
import { parseValue } from '../quantity/index.ts';
import { InputError } from '../records/index.ts';

/** What people write for a point that moves, or does not. */
const MOVES: Readonly<Record<string, string>> = { 1: '1', yes: '1', 0: '0', no: '0' };

/**
 * The value of what a person typed, and the text as the folder writes it: `340m` for `340 mV`, a point for a comma.
 *
 * @param quantity  as in readings.csv: `V`, `width`, `delay:POINT`
 * @throws InputError  `unknown-word` for a quantity that is none; `not-a-number`, and why
 */
export function readingText(
  quantity: string,
  text: string,
): { readonly value: number; readonly text: string } {
  const of = quantityOf(quantity);
  if (of === undefined) throw new InputError('unknown-word', `no reading is of ${JSON.stringify(quantity)}`);
  const { unit } = of;
  if (unit === undefined) {
    const plain = MOVES[text.trim().toLowerCase()];
    if (plain === undefined) throw new InputError('not-a-number', 'a point moves or it does not: 1 or 0');
    return { value: Number(plain), text: plain };
  }
  const parsed = parseValue(text, { unit, decimalComma: true });
  if (!parsed.ok) throw new InputError(parsed.code, parsed.reason);
  const bare = text.trim().endsWith(unit) ? text.trim().slice(0, -unit.length) : text.trim();
  return { value: parsed.value, text: bare.replaceAll(/\s+/g, '').replace(',', '.') };
}

/** The value of a reading on record; `undefined` for what is no value of its quantity. */
export function readingValue(quantity: string, text: string): number | undefined {
  const of = quantityOf(quantity);
  if (of === undefined) return undefined;
  const { unit } = of;
  const parsed = parseValue(text, { ...(unit === undefined ? {} : { unit }), decimalComma: true });
  return parsed.ok ? parsed.value : undefined;
}

/** What is typed into the value field. */

import { parseValue } from '../../quantity/index.ts';

/** Digits, sign, point or comma, the prefixes and the exponent's letter; every other letter is a key of the page. */
const WRITES = /[0-9+\-−.,nuµmkMReE]/;

export type Entry =
  | { readonly kind: 'empty' }
  /** Not a value yet, and not wrong either: a sign, a point. */
  | { readonly kind: 'begun' }
  | { readonly kind: 'value'; readonly volts: number }
  | { readonly kind: 'wrong'; readonly reason: string };

/** Whether a key of the keyboard writes into the field. */
export function isWritten(key: string): boolean {
  return key.length === 1 && WRITES.test(key);
}

/**
 * What a pasted or typed text leaves in the field: the unit at its end and spaces fall away, a hyphen becomes a minus. Anything else stays,
 * to be refused where it can be seen.
 */
export function kept(text: string): string {
  return text.replaceAll('-', '−').replace(/\s/g, '').replace(/v$/i, '');
}

/** The text as it is sent, and as the folder's files write it. */
export function plain(text: string): string {
  return text.replaceAll('−', '-').replace(',', '.').replace(/^\+/, '');
}

export function entryOf(text: string): Entry {
  if (text === '') return { kind: 'empty' };
  if (/^[+−-]?[.,]?$/.test(text)) return { kind: 'begun' };
  const parsed = parseValue(plain(text), { unit: 'V' });
  return parsed.ok ? { kind: 'value', volts: parsed.value } : { kind: 'wrong', reason: parsed.reason };
}

/** The same text with the other sign. */
export function turned(text: string): string {
  return /^[−-]/.test(text) ? text.slice(1) : `−${text.replace(/^\+/, '')}`;
}

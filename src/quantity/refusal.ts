/** Stable names of what can be wrong with a text that should be a quantity. */
export type RefusalCode =
  | 'empty'
  | 'too-long'
  | 'not-a-number'
  | 'decimal-comma'
  | 'two-points'
  | 'inner-space'
  | 'exponent-and-prefix'
  | 'unknown-suffix'
  | 'unexpected-unit'
  | 'wrong-unit'
  | 'prefix-not-allowed'
  | 'out-of-range'
  | 'not-a-code'
  | 'unknown-letter'
  | 'band-count'
  | 'unknown-colour'
  | 'wrong-colour';

/** Why a text was not taken: a stable code, and a line that names what was found and what is allowed. */
export interface Refusal {
  readonly ok: false;
  readonly code: RefusalCode;
  readonly reason: string;
}

/** What a reader of text answers; it never throws for bad text. */
export type Parsed<T> = { readonly ok: true; readonly value: T } | Refusal;

export function refusal(code: RefusalCode, reason: string): Refusal {
  return { ok: false, code, reason };
}

/** The text in quotes for a message: control characters escaped, a long one cut. */
export function quoted(text: string): string {
  return JSON.stringify(text.length > 32 ? `${text.slice(0, 32)}…` : text);
}

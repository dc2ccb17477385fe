/** An understanding that comes from outside, a file or a request, held against its shape. */

import type { CaptureColumn, TextUnderstanding } from './understanding.ts';

const ROLES = ['time', 'sequence', 'channel', 'skip'];
const ENCODINGS = ['utf-8', 'utf-16le', 'utf-16be', 'windows-1252'];
const MOST_COLUMNS = 256;
const MOST_DOUBTS = 1000;
const LONGEST_TEXT = 10_000;

/**
 * The understanding that a value from JSON is; `undefined` for anything else. What it does not know of a value is left out. Whether a
 * file can be read by it says `understandingFaults`.
 */
export function understandingFrom(value: unknown): TextUnderstanding | undefined {
  if (!isObject(value)) return undefined;
  const { kind, signature, encoding, lineEnd, separator, decimal, headerLines, columns } = value;
  const { start, interval, samples, doubts } = value;
  const sound =
    kind === 'text' &&
    isText(signature) &&
    ENCODINGS.includes(encoding as string) &&
    (lineEnd === 'LF' || lineEnd === 'CR') &&
    [',', ';', '\t', ' '].includes(separator as string) &&
    (decimal === '.' || decimal === ',') &&
    isNumber(headerLines) &&
    Array.isArray(columns) &&
    columns.length <= MOST_COLUMNS &&
    columns.every(isColumn) &&
    isNumber(start) &&
    (interval === undefined || isNumber(interval)) &&
    (samples === undefined || isNumber(samples)) &&
    Array.isArray(doubts) &&
    doubts.length <= MOST_DOUBTS &&
    doubts.every(isText);
  if (!sound) return undefined;
  return {
    ...{ kind, signature, encoding, lineEnd, separator, decimal, headerLines, start, doubts },
    columns: (columns as CaptureColumn[]).map(({ role, name, unit, factor, probe, offset }) => {
      return { role, name, unit, factor, probe, offset };
    }),
    ...(interval === undefined ? {} : { interval }),
    ...(samples === undefined ? {} : { samples }),
  } as TextUnderstanding;
}

function isColumn(value: unknown): boolean {
  if (!isObject(value)) return false;
  const { role, name, unit, factor, probe, offset } = value;
  return (
    ROLES.includes(role as string) && isText(name) && isText(unit) && [factor, probe, offset].every(isNumber)
  );
}

function isObject(value: unknown): value is Readonly<Record<string, unknown>> {
  return typeof value === 'object' && value !== null && !Array.isArray(value);
}

function isText(value: unknown): value is string {
  return typeof value === 'string' && value.length <= LONGEST_TEXT;
}

function isNumber(value: unknown): value is number {
  return typeof value === 'number' && Number.isFinite(value);
}

/** The last line of a file that has no line end: whole, or what is left of one. */

import { cellKind, type DecimalSign, type Separator, tableRows } from './cells.ts';

/**
 * Whether a line was cut off: it has fewer cells than the lines before it, or its last cell is no number, or it lacks digits that
 * the same cell has in all of them. A number that lost digits of a format without a fixed length cannot be told.
 *
 * @param recent  complete lines before it, none of the heading
 * @param least   cells that a row must have
 */
export function isCut(
  line: string,
  recent: readonly string[],
  {
    separator,
    decimal,
    least,
  }: { readonly separator: Separator; readonly decimal: DecimalSign; readonly least: number },
): boolean {
  const cells = tableRows([line], separator)[0]!.cells;
  const before = tableRows(
    recent.filter((one) => one.trim() !== ''),
    separator,
  ).map((row) => row.cells);
  const fewest = before.reduce((few, row) => Math.min(few, row.length), Number.POSITIVE_INFINITY);
  if (cells.length < least || (cells.length < fewest && before.length > 0)) return true;
  const last = cells.length - 1;
  const cell = cells[last]!;
  const kind = cellKind(cell, decimal);
  if (kind === 'text' || /^[+-]$/.test(cell)) return true;
  if (kind !== 'number') return false;
  const forms = before
    .map((row) => row[last] ?? '')
    .filter((one) => cellKind(one, decimal) === 'number')
    .map(form);
  const own = form(cell);
  const lacks = (part: 0 | 1) =>
    forms.length > 0 && forms.every((one) => one[part] === forms[0]![part]) && own[part] < forms[0]![part];
  return lacks(0) || lacks(1);
}

/** Digits behind the decimal sign, and of the exponent. */
function form(cell: string): readonly [number, number] {
  const [, decimals, exponent] = /^[+-]?\d*(?:[.,](\d*))?(?:[eE][+-]?(\d+))?$/.exec(cell) ?? [];
  return [decimals?.length ?? 0, exponent?.length ?? 0];
}

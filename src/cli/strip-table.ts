/** Tables of level strips: a heading for each state, and a table for each scale that its points need. */

import type { Machine } from '../machine/index.ts';
import { type Axis, axesOf, axisFor, engraving } from './axis.ts';
import type { Call } from './call.ts';
import { levelStrip, type Marks } from './level-strip.ts';
import { type Column, tableLines } from './table.ts';

/** A row: one point in one state. */
export interface StripRow {
  readonly condition: string;
  readonly point: string;
  readonly quantity: string;
}

/**
 * The rows under their states, in the order given; the strip stands after the first column.
 *
 * @param marks  what is drawn on a row's strip; its sound level decides which scale the row stands under
 * @param columns  the columns of some of the rows
 */
export function stripTables<R extends StripRow>(
  call: Call,
  machine: Machine,
  rows: readonly R[],
  marks: (row: R) => Marks,
  columns: (rows: readonly R[]) => readonly Column[],
): string[] {
  const axes = axesOf(machine);
  const lines: string[] = [];
  for (const condition of new Set(rows.map((row) => row.condition))) {
    lines.push('', ...call.wrap(condition).map(call.paint.bold));
    const here = rows.filter((row) => row.condition === condition);
    for (const axis of axes) {
      const own = here.filter((row) => axisFor(axes, marks(row).sound ?? 0) === axis);
      if (own.length > 0) lines.push(...stripTable(call, axis, own, marks, columns(own)));
    }
  }
  return lines;
}

function stripTable<R extends StripRow>(
  call: Call,
  axis: Axis,
  rows: readonly R[],
  marks: (row: R) => Marks,
  columns: readonly Column[],
): string[] {
  const { figures, paint, terminal } = call;
  return tableLines(columns, terminal.columns, paint.quiet, {
    before: 1,
    title: (width) => engraving(axis, width, figures),
    cell(i, width) {
      const row = rows[i]!;
      if (row.quantity !== 'V') return ' '.repeat(width);
      return levelStrip(marks(row), axis, width, figures.unicode, paint);
    },
  });
}

/** A column from what each row says in it. */
export function column<R>(
  title: string,
  align: Column['align'],
  rows: readonly R[],
  text: (row: R) => string,
  paint?: (row: R) => ((text: string) => string) | undefined,
): Column {
  return { title, align, cells: rows.map((row) => ({ text: text(row), paint: paint?.(row) })) };
}

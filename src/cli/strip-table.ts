/** Tables of level strips: a heading for each state, and a table for each scale that its points need. */

import type { Machine } from '../machine/index.ts';
import { type Axis, axesOf, axisFor, engraving } from './axis.ts';
import type { Call } from './call.ts';
import { levelStrip, type Marks, stripKey } from './level-strip.ts';
import { type Column, paragraphs, phraseLines, tableLines } from './table.ts';

/** A row: one point in one state. */
export interface StripRow {
  readonly condition: string;
  readonly point: string;
  readonly quantity: string;
}

/**
 * The rows under their states, in the order given; the strip stands after the first column. Where there was room for strips, their
 * signs are explained below.
 *
 * @param names  of the healthy unit and of the one compared, for the explanation
 * @param marks  what is drawn on a row's strip; its sound level decides which scale the row stands under
 * @param columns  the columns of some of the rows
 */
export function stripTables<R extends StripRow>(
  call: Call,
  machine: Machine,
  rows: readonly R[],
  names: { readonly healthy?: string | undefined; readonly unit?: string },
  marks: (row: R) => Marks,
  columns: (rows: readonly R[]) => readonly Column[],
): string[] {
  const axes = axesOf(machine);
  let drawn = false;
  const draw = (row: R, axis: Axis, width: number): string => {
    drawn = true;
    if (row.quantity !== 'V') return ' '.repeat(width);
    return levelStrip(marks(row), axis, width, call.figures.unicode, call.paint);
  };
  const states = [...new Set(rows.map((row) => row.condition))].map((condition) => {
    const here = rows.filter((row) => row.condition === condition);
    const tables = axes.flatMap((axis) => {
      const own = here.filter((row) => axisFor(axes, marks(row).sound ?? 0) === axis);
      return own.length === 0 ? [] : stripTable(call, axis, own, draw, columns(own));
    });
    return [...call.wrap(condition).map(call.paint.bold), ...tables];
  });
  const key = drawn ? stripKey(call.figures.unicode, names.healthy, names.unit) : [];
  return paragraphs(...states, phraseLines(key, call.terminal.columns).map(call.paint.quiet));
}

function stripTable<R extends StripRow>(
  call: Call,
  axis: Axis,
  rows: readonly R[],
  draw: (row: R, axis: Axis, width: number) => string,
  columns: readonly Column[],
): string[] {
  const { figures, paint, terminal } = call;
  return tableLines(columns, terminal.columns, paint.quiet, {
    before: 1,
    title: (width) => engraving(axis, width, figures),
    cell: (i, width) => draw(rows[i]!, axis, width),
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

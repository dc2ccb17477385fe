/** Blocks of cells to and from a spreadsheet: text with tabs between cells, a line for each row. */

import Papa from 'papaparse';

/** What of a block goes where: row from the active one on, and its cells by column. */
export interface Laid {
  readonly rows: readonly Readonly<Record<string, string>>[];
  /** Cells that stood beyond the last column, or under headings that the sheet does not have. */
  readonly left: number;
  /** Whether the first line was headings, which said where the cells go. */
  readonly headed: boolean;
}

/** Cells of a text from the clipboard; a last empty line is none. */
export function blockOf(text: string): string[][] {
  const { data } = Papa.parse<string[]>(text.replace(/\r?\n$/, ''), { delimiter: '\t' });
  return data.map((row) => row.map((cell) => cell.replaceAll(/\s*\r?\n\s*/g, ' ').trim()));
}

export function textOf(block: readonly (readonly string[])[]): string {
  return Papa.unparse(block as string[][], { delimiter: '\t', newline: '\n' });
}

/**
 * Lays a block onto columns, from one of them on; a block that brings the sheet's own headings is laid by them.
 *
 * @param columns  those that can be written, in order
 */
export function laid(block: readonly (readonly string[])[], columns: readonly string[], from: number): Laid {
  const headings = block[0]?.map((cell) => cell.trim().toLowerCase()) ?? [];
  const known = headings.filter((heading) => columns.includes(heading));
  const headed = block.length > 1 && known.length >= 2 && known.length * 2 > headings.length;
  const names = headed
    ? headings.map((heading) => (columns.includes(heading) ? heading : undefined))
    : block
        .reduce((most, row) => (row.length > most.length ? row : most), [])
        .map((_, i) => columns[from + i]);
  let left = 0;
  const rows = (headed ? block.slice(1) : block).map((row) => {
    const cells: Record<string, string> = {};
    for (const [i, cell] of row.entries()) {
      const name = names[i];
      if (name !== undefined) cells[name] = cell;
      else if (cell !== '') left += 1;
    }
    return cells;
  });
  return { rows, left, headed };
}

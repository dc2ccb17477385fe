/** Lines of a table parted into cells, and what a cell may hold where a number belongs. */

export type Separator = ',' | ';' | '\t' | ' ';
export type DecimalSign = '.' | ',';

/** A line, or several where a quoted text runs over their ends. */
export interface TableRow {
  /** From 1. */
  readonly line: number;
  readonly cells: readonly string[];
}

/** A quotation mark that is still open after so many lines was never meant as one. */
const LONGEST_QUOTED = 20;

/** The rows of a text, blanks around their cells and quotation marks taken off. */
export function tableRows(lines: readonly string[], separator: Separator): TableRow[] {
  const rows: TableRow[] = [];
  for (let i = 0; i < lines.length; i++) {
    const line = i + 1;
    let text = lines[i]!;
    for (let last = i + 1; !closed(text) && last < lines.length && last < line + LONGEST_QUOTED; last++) {
      const longer = `${text}\n${lines.slice(i + 1, last + 1).join('\n')}`;
      if (!closed(longer)) continue;
      text = longer;
      i = last;
      break;
    }
    rows.push({ line, cells: cellsOf(text, separator) });
  }
  return rows;
}

function closed(text: string): boolean {
  let marks = 0;
  for (let at = text.indexOf('"'); at >= 0; at = text.indexOf('"', at + 1)) marks++;
  return marks % 2 === 0;
}

function cellsOf(text: string, separator: Separator): string[] {
  if (separator === ' ') return text.trim() === '' ? [] : text.trim().split(/[ \t]+/);
  if (!text.includes('"')) return text.split(separator).map((cell) => cell.trim());
  const cells: string[] = [];
  let cell = '';
  let quoted = false;
  for (let i = 0; i < text.length; i++) {
    const c = text[i]!;
    if (c === '"' && quoted && text[i + 1] === '"') {
      cell += c;
      i++;
    } else if (c === '"') quoted = !quoted;
    else if (c === separator && !quoted) {
      cells.push(cell.trim());
      cell = '';
    } else cell += c;
  }
  cells.push(cell.trim());
  return cells;
}

export type CellKind = 'number' | 'blank' | 'over' | 'under' | 'none' | 'text';

const NUMBER = {
  '.': /^[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?$/,
  ',': /^[+-]?(\d+,?\d*|,\d+)([eE][+-]?\d+)?$/,
};
/** What instruments write where the input left the range, or where there is no sample; common practice, no source. */
const OVER = /^\+?(∞|inf(inity)?|1\.#inf0*|over([ -]?(range|load|flow))?|ovr|ovld|ol|clip(ped|ping)?|high)$/;
const UNDER =
  /^(-(∞|inf(inity)?|1\.#inf0*|ol|ovld|over([ -]?(range|load))?)|under([ -]?(range|flow))?|unr|low)$/;
const NONE = /^([+-]?nan|[+-]?1\.#(qnan|ind)0*|n\.?\/?a\.?|null|none|void|invalid|missing|[-–—]+|\*+|\?+)$/;

export function cellKind(cell: string, decimal: DecimalSign): CellKind {
  if (cell === '') return 'blank';
  if (NUMBER[decimal].test(cell)) return 'number';
  const word = cell.toLowerCase().replace('−', '-');
  return OVER.test(word) ? 'over' : UNDER.test(word) ? 'under' : NONE.test(word) ? 'none' : 'text';
}

/** The number of a cell of kind `number`. */
export function cellNumber(cell: string, decimal: DecimalSign): number {
  return Number(decimal === ',' ? cell.replace(',', '.') : cell);
}

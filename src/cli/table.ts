/** Aligned columns that fit the terminal. A table too narrow for its columns loses the strip, then folds: no figure is dropped. */

export interface Column {
  readonly title: string;
  readonly align: 'left' | 'right';
  readonly cells: readonly Cell[];
}

export interface Cell {
  readonly text: string;
  readonly paint?: ((text: string) => string) | undefined;
}

/** The column of level strips, which takes the room that is left. */
export interface StripColumn {
  /** Before which of the other columns it stands, from 0. */
  readonly before: number;
  readonly title: (width: number) => string;
  readonly cell: (row: number, width: number) => string;
}

const GAP = 2;
const INDENT = 2;
const NARROWEST_STRIP = 20;
const WIDEST_STRIP = 72;

/** The table, a line each; lines end without spaces. `quiet` paints the headings. */
export function tableLines(
  columns: readonly Column[],
  width: number,
  quiet: (text: string) => string,
  strip?: StripColumn,
): string[] {
  const used = columns.filter(({ cells }) => cells.some(({ text }) => text !== ''));
  const widths = used.map(({ title, cells }) =>
    Math.max(title.length, ...cells.map(({ text }) => text.length)),
  );
  const fixed = INDENT + widths.reduce((sum, w) => sum + w + GAP, 0) - GAP;
  if (fixed > width) return foldedLines(used, width, quiet);

  const room = Math.min(WIDEST_STRIP, width - fixed - GAP);
  const shown = strip !== undefined && room >= NARROWEST_STRIP ? strip : undefined;
  const before = shown && columns.slice(0, shown.before).filter((column) => used.includes(column)).length;
  const line = (cell: (column: number) => Cell, stripText: string): string => {
    const pieces = used.map((column, i) => padded(cell(i), widths[i]!, column.align));
    if (before !== undefined) pieces.splice(before, 0, stripText);
    return trimmed(' '.repeat(INDENT) + pieces.join(' '.repeat(GAP)));
  };
  const rows = used[0]?.cells.length ?? 0;
  const engraved = shown?.title(room).trimEnd() ?? '';
  const head = line(
    (i) => ({ text: used[i]!.title, paint: quiet }),
    quiet(engraved) + ' '.repeat(shown ? room - engraved.length : 0),
  );
  const body = Array.from({ length: rows }, (_, row) =>
    line((i) => used[i]!.cells[row]!, shown?.cell(row, room) ?? ''),
  );
  return [head, ...body];
}

/** Each row as a line with its first and last cell, and the others under it, each after its title. */
function foldedLines(columns: readonly Column[], width: number, quiet: (text: string) => string): string[] {
  const rows = columns[0]?.cells.length ?? 0;
  return Array.from({ length: rows }, (_, row) => {
    const pairs = columns.slice(1).map(({ title, cells }) => ({ title, cell: cells[row]! }));
    const { text: first, paint = (text: string) => text } = columns[0]!.cells[row]!;
    const lines = first === '' ? [] : wrapped(first, width, ' '.repeat(INDENT)).map(paint);
    let line = '';
    let length = 0;
    for (const { title, cell } of pairs) {
      if (cell.text === '') continue;
      const text = `${title === '' ? '' : `${quiet(title)} `}${painted(cell)}`;
      const size = (title === '' ? 0 : title.length + 1) + cell.text.length;
      if (2 * INDENT + size > width) {
        if (line !== '') lines.push(' '.repeat(2 * INDENT) + line);
        lines.push(...wrapped(`${title} ${cell.text}`.trim(), width, ' '.repeat(2 * INDENT)));
        line = '';
        length = 0;
        continue;
      }
      if (line !== '' && 2 * INDENT + length + GAP + size > width) {
        lines.push(' '.repeat(2 * INDENT) + line);
        line = '';
        length = 0;
      }
      line += (line === '' ? '' : ' '.repeat(GAP)) + text;
      length += (length === 0 ? 0 : GAP) + size;
    }
    if (line !== '') lines.push(' '.repeat(2 * INDENT) + line);
    return lines;
  }).flat();
}

function padded(cell: Cell, width: number, align: 'left' | 'right'): string {
  const gap = ' '.repeat(Math.max(0, width - cell.text.length));
  return align === 'right' ? gap + painted(cell) : painted(cell) + gap;
}

function painted({ text, paint }: Cell): string {
  return paint === undefined || text === '' ? text : paint(text);
}

function trimmed(line: string): string {
  return line.trimEnd();
}

/** Paragraphs with an empty line between them; those with nothing in them are left out. */
export function paragraphs(...blocks: readonly (readonly string[])[]): string[] {
  return blocks.filter((block) => block.length > 0).flatMap((block, i) => (i === 0 ? block : ['', ...block]));
}

/** Phrases in lines of `width` at most, none of them broken. */
export function phraseLines(phrases: readonly string[], width: number, indent = '  ', gap = '   '): string[] {
  const lines: string[] = [];
  for (const phrase of phrases) {
    const last = lines.at(-1);
    if (last !== undefined && last.length + gap.length + phrase.length <= width) {
      lines[lines.length - 1] = last + gap + phrase;
    } else {
      lines.push(indent + phrase);
    }
  }
  return lines;
}

/** A longer line of sentences loses the eye on its way back. */
const LONGEST_SENTENCES = 100;

/** Sentences broken at spaces to lines of `width` at most, the first after `first`, the others as far in. */
export function wrapped(
  text: string,
  width: number,
  first = '',
  indent = ' '.repeat(first.length),
): string[] {
  const longest = Math.min(width, LONGEST_SENTENCES);
  const lines: string[] = [];
  let line = first;
  let empty = true;
  for (const word of text.split(' ')) {
    if (!empty && line.length + 1 + word.length > longest) {
      lines.push(line);
      line = indent + word;
    } else {
      line += (empty ? '' : ' ') + word;
    }
    empty = false;
  }
  return [...lines, line];
}

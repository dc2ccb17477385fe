import type { Finding } from './finding.ts';
import { FindingList } from './finding.ts';
import { type Sheet, sheetContent, sheetLayout } from './sheet.ts';
import { withPoint } from './sheet-row.ts';
import { BOARDS } from './sheets/boards.ts';
import { CAPTURE_CHANNELS, CAPTURES } from './sheets/captures.ts';
import { CONDITIONS } from './sheets/conditions.ts';
import { FLOW } from './sheets/flow.ts';
import { LOG } from './sheets/log.ts';
import { PARTS } from './sheets/parts.ts';
import { PHOTOGRAPHS } from './sheets/photographs.ts';
import { PLACEMENTS } from './sheets/placements.ts';
import { POINTS } from './sheets/points.ts';
import { READINGS } from './sheets/readings.ts';
import { STATES } from './sheets/states.ts';
import { TYPES } from './sheets/types.ts';
import { eachRow, rowText } from './table.ts';

const SHEETS: ReadonlyMap<string, Sheet<unknown>> = new Map(
  [
    ...[PARTS, TYPES, CONDITIONS, STATES, POINTS, BOARDS, READINGS, FLOW, LOG, PHOTOGRAPHS, PLACEMENTS],
    ...[CAPTURES, CAPTURE_CHANNELS],
  ].map((sheet) => [sheet.file, sheet as Sheet<unknown>]),
);

/** The columns that the format knows in each of its tables, by file name. */
export const SHEET_COLUMNS: ReadonlyMap<string, readonly string[]> = new Map(
  [...SHEETS].map(([file, { columns }]) => [file, columns]),
);

/** A table of the folder as cells, as they were typed. */
export interface CellTable {
  /** Known columns by the format's name, others as they are headed. */
  readonly columns: readonly string[];
  /** As many cells as columns in each. */
  readonly rows: readonly (readonly string[])[];
}

/**
 * The cells of a table of the format, in its standard form: of a table with decimal commas, the numbers have points here.
 * Blank rows and rows that cannot be split are left out, and so are cells beyond the headings.
 *
 * @param required  columns without which it is no such table
 * @returns `undefined` when the text is no such table
 * @throws RangeError  when the format has no table of that name
 */
export function cellTable(
  file: string,
  text: string,
  required: readonly string[] = sheetNamed(file).required,
): CellTable | undefined {
  const sheet = { ...sheetNamed(file), required };
  const layout = sheetLayout(sheet, text, new FindingList());
  if (layout === undefined) return undefined;
  const { separator, decimalComma, headings, positions } = layout;
  const columns = [...headings];
  for (const [column, position] of positions) columns[position] = column;
  const pointed = new Set(decimalComma ? sheet.numeric.flatMap((column) => positions.get(column) ?? []) : []);
  const rows: string[][] = [];
  eachRow(text, separator, ({ row, cells }) => {
    if (row > 1 && cells?.some((cell) => cell !== ''))
      rows.push(columns.map((_, i) => (pointed.has(i) ? withPoint(cells[i] ?? '') : (cells[i] ?? ''))));
    return true;
  });
  return { columns, rows };
}

/** The text of a table: commas between cells, a line for each row. */
export function cellTableText({ columns, rows }: CellTable): string {
  return `${[columns, ...rows].map((row) => rowText(row, ',')).join('\n')}\n`;
}

/**
 * Cells of one row in the format's standard form: a number with a comma that can only be a decimal one gets a point, so that it
 * does not change how the other rows are read. What is not in `cells` is not in the answer.
 */
export function standardCells(
  file: string,
  cells: Readonly<Record<string, string>>,
): Readonly<Record<string, string>> {
  const columns = sheetNamed(file).columns.filter((column) => cells[column] !== undefined);
  if (columns.every((column) => !cells[column]!.includes(','))) return cells;
  const row = columns.map((column) => cells[column]!);
  const [standard] = cellTable(file, cellTableText({ columns, rows: [row] }), [])?.rows ?? [];
  return standard === undefined
    ? cells
    : { ...cells, ...Object.fromEntries(columns.map((column, i) => [column, standard[i]!])) };
}

/** What is wrong or doubtful in one row by itself, not held against the rest of the folder. */
export function rowFindings(file: string, cells: Readonly<Record<string, string>>): readonly Finding[] {
  const sheet = sheetNamed(file);
  const findings = new FindingList();
  const text = cellTableText({
    columns: sheet.columns,
    rows: [sheet.columns.map((name) => cells[name] ?? '')],
  });
  sheetContent(sheet, text, findings);
  return findings.all();
}

function sheetNamed(file: string): Sheet<unknown> {
  const sheet = SHEETS.get(file);
  if (sheet === undefined) throw new RangeError(`the format has no table ${file}`);
  return sheet;
}

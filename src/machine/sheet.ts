import { type FindingCode, type FindingList, shown } from './finding.ts';
import { suggestion } from './nearest.ts';
import { SheetRow } from './sheet-row.ts';
import { eachRow } from './table.ts';

/** One of the folder's tables: its columns, and how a row becomes a record and a record a row. */
export interface Sheet<R> {
  readonly file: string;
  /** In the order in which they are written. */
  readonly columns: readonly string[];
  readonly required: readonly string[];
  /** Columns that hold numbers, where a decimal comma is looked for. */
  readonly numeric: readonly string[];
  /** The record of a row, or `undefined` when none can be made of it (then a finding says why). */
  readonly read: (row: SheetRow) => R | undefined;
  /** What makes a record the same one; see `repeat`. */
  readonly key: (record: R) => string;
  /** What a second row with the same key is: a finding, with its column; or nothing, and then both are kept. */
  readonly repeat?: {
    readonly severity: 'error' | 'warning';
    readonly code: FindingCode;
    readonly column: string;
    readonly message: (record: R, firstRow: number) => string;
  };
  /** The cells by column; a column left out is empty. */
  readonly cells: (record: R) => Readonly<Record<string, string | undefined>>;
  /** The order in which a machine holds the records of rows in this order, where it is not the same. */
  readonly gather?: (records: readonly R[]) => readonly R[];
}

/** The records of a table with the row each came from. */
export interface SheetContent<R> {
  readonly records: readonly R[];
  readonly rows: readonly number[];
  /** `undefined` when there is no such file, or it was refused as a whole. */
  readonly layout: SheetLayout | undefined;
}

/** How a table is laid out: what is needed to read it again. */
export interface SheetLayout {
  readonly separator: string;
  readonly decimalComma: boolean;
  /** Headings as they stand. */
  readonly headings: readonly string[];
  /** Position of each known column. */
  readonly positions: ReadonlyMap<string, number>;
}

/** What there is of a table that is not there, or refused. */
export const NO_CONTENT: SheetContent<never> = { records: [], rows: [], layout: undefined };

/** After so many faulty rows, more than half of all, a file is not the table it should be. */
const FAULTY_ROWS = 1000;
const BLANK_ROWS = 1_048_576;

/** Reads a table. Every fault is reported, and what can be read is, unless it is no such table at all. */
export function sheetContent<R>(
  sheet: Sheet<R>,
  text: string,
  findings: FindingList,
): SheetContent<R> | undefined {
  const layout = sheetLayout(sheet, text, findings);
  if (layout === undefined) return undefined;

  const records: R[] = [];
  const rows: number[] = [];
  const firstRows = new Map<string, number>();
  const row = new SheetRow(sheet.file, layout, findings);
  let read = 0;
  let faulty = 0;
  let blank = 0;
  let refused = false;
  const refuse = (why: string): false => {
    refused = true;
    findings.error('not-a-table', { file: sheet.file }, `not read, since ${why}; is this a ${sheet.file}?`);
    return false;
  };
  eachRow(text, layout.separator, (raw) => {
    if (raw.row === 1) return true;
    if (raw.cells === undefined) {
      const { code, cell, message } = raw.fault!;
      const column = layout.headings[cell];
      findings.error(code, { file: sheet.file, row: raw.row, ...(column ? { column } : {}) }, message);
      faulty++;
    } else if (raw.cells.some((cell) => cell !== '')) {
      row.take(raw.row, raw.cells);
      const record = row.fits() ? sheet.read(row) : undefined;
      if (record !== undefined && isFirst(sheet, record, row, firstRows)) {
        records.push(record);
        rows.push(raw.row);
      }
      if (row.faulty) faulty++;
    } else {
      // A spreadsheet may export a million empty rows; more than it has at all is something else.
      return ++blank <= BLANK_ROWS || refuse(`${blank} rows are blank`);
    }
    read++;
    if (faulty < FAULTY_ROWS || faulty <= read / 2) return true;
    return refuse(`${faulty} of ${read} rows are faulty`);
  });
  return refused ? undefined : { records, rows, layout };
}

function isFirst<R>(sheet: Sheet<R>, record: R, row: SheetRow, firstRows: Map<string, number>): boolean {
  if (sheet.repeat === undefined) return true;
  const key = sheet.key(record);
  const first = firstRows.get(key);
  if (first === undefined) {
    firstRows.set(key, row.row);
    return true;
  }
  const { severity, code, column, message } = sheet.repeat;
  row[severity](code, column, message(record, first));
  return false;
}

const SEPARATORS = [',', ';', '\t'] as const;
const SEPARATOR_NAMES: Readonly<Record<string, string>> = { ';': 'semicolons', '\t': 'tabs' };

export function sheetLayout<R>(
  sheet: Sheet<R>,
  text: string,
  findings: FindingList,
): SheetLayout | undefined {
  const { file } = sheet;
  const known = new Set(sheet.columns);
  const candidates = SEPARATORS.map((separator) => {
    let headings: readonly string[] = [];
    eachRow(text, separator, (row) => {
      headings = row.cells ?? [];
      return false;
    });
    const names = headings.map((heading) => heading.trim().toLowerCase());
    return { separator, headings, names, hits: names.filter((name) => known.has(name)).length };
  });
  const best = candidates.reduce((a, b) => (b.hits > a.hits ? b : a));
  const { separator, headings, names } = best;
  if (best.hits === 0) {
    const first = text.slice(0, 80).split(/[\r\n]/, 1)[0]!;
    findings.error(
      'header',
      { file, row: 1, found: first },
      text.trim() === ''
        ? `the file is empty; its first row names the columns: ${sheet.columns.join(',')}`
        : `row 1 is ${shown(first)}; it must name the columns: ${sheet.columns.join(',')}`,
    );
    return undefined;
  }

  const positions = new Map<string, number>();
  let complete = true;
  names.forEach((name, position) => {
    if (positions.has(name) && known.has(name)) {
      findings.error(
        'header',
        { file, row: 1, column: name },
        `two columns are headed ${name}; rename or delete one`,
      );
      complete = false;
    }
    if (known.has(name)) positions.set(name, position);
  });
  const absent = sheet.columns.filter((column) => !positions.has(column));
  const strange = headings.filter((heading, i) => heading.trim() !== '' && !known.has(names[i]!));
  for (const column of absent.filter((name) => sheet.required.includes(name))) {
    findings.error(
      'header',
      { file, row: 1, column },
      `column ${column} is missing${suggestion(column, strange)}; needed are ${sheet.required.join(', ')}`,
    );
    complete = false;
  }
  for (const heading of strange) {
    const meant = suggestion(
      heading.trim(),
      absent.filter((name) => !sheet.required.includes(name)),
    );
    if (meant === '') continue;
    findings.warning(
      'header',
      { file, row: 1, column: heading, found: heading },
      `column ${shown(heading)} is not known and is passed through unread${meant}`,
    );
  }
  if (!complete) return undefined;

  const comma = decimalComma(sheet, text, separator, positions);
  const separated = SEPARATOR_NAMES[separator];
  if (separated !== undefined || comma !== undefined) {
    const readings = [
      ...(separated === undefined ? [] : [`cells parted by ${separated}`]),
      ...(comma === undefined ? [] : [`numbers with a decimal comma (${shown(comma)})`]),
    ];
    findings.warning(
      separated === undefined ? 'decimal-comma' : 'separator',
      { file },
      `read as ${readings.join(' and ')}; the format asks for commas between cells and a decimal point`,
    );
  }
  return { separator, decimalComma: comma !== undefined, headings, positions };
}

/** A number with one comma that can only be a decimal one, since a thousands comma has three digits after it and no zero first. */
const DECIMAL_COMMA = /^[+\-\u2212]?(?:\d+,(?:\d{1,2}|\d{4,})|(?:0\d*|\d{4,}|),\d+)[^\d,.]*$/;
/** The first number that shows that this table is written with decimal commas, if any. */
function decimalComma<R>(
  sheet: Sheet<R>,
  text: string,
  separator: string,
  positions: ReadonlyMap<string, number>,
): string | undefined {
  // Without quotes no cell of a comma-separated table holds a comma.
  if (separator === ',' ? !text.includes('"') : !text.includes(',')) return undefined;
  const columns = sheet.numeric.flatMap((column) => positions.get(column) ?? []);
  let found: string | undefined;
  eachRow(text, separator, ({ row, cells }) => {
    if (row > 1 && cells !== undefined) {
      for (const position of columns) {
        const cell = cells[position];
        if (cell?.includes(','))
          found ??= cell
            .trim()
            .split(/\s+/)
            .find((word) => DECIMAL_COMMA.test(word));
      }
    }
    return found === undefined;
  });
  return found;
}

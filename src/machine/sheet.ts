import { parseValue, type UnitSymbol } from '../quantity/index.ts';
import { type FindingCode, type FindingList, shown } from './finding.ts';
import { suggestion } from './nearest.ts';
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

function sheetLayout<R>(sheet: Sheet<R>, text: string, findings: FindingList): SheetLayout | undefined {
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
/** A number whose mark may be a decimal one or one of thousands. */
const EITHER_MARK = /^[+\-\u2212]?[1-9]\d{0,2}[.,]\d{3}$/;

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

/** A cell's number in the standard dialect: with a decimal point. */
export function withPoint(cell: string): string {
  return cell.replaceAll(',', '.');
}

export interface NumberWish {
  readonly unit?: UnitSymbol;
  /** Outside of it a number is refused; both ends are allowed. */
  readonly from?: number;
  readonly to?: number;
  /** What belongs there, for the message: `percent, 0 to 100`. */
  readonly wanted?: string;
}

/** The row that is being read: its cells by column name, and findings that name their place. */
export class SheetRow {
  readonly #file: string;
  readonly #layout: SheetLayout;
  readonly #findings: FindingList;
  readonly #names = new Map<string, string>();
  #cells: readonly string[] = [];
  row = 0;
  /** An error was found in this row. */
  faulty = false;

  constructor(file: string, layout: SheetLayout, findings: FindingList) {
    this.#file = file;
    this.#layout = layout;
    this.#findings = findings;
  }

  take(row: number, cells: readonly string[]): void {
    this.row = row;
    this.#cells = cells;
    this.faulty = false;
  }

  /** Whether the row has no more cells than there are headings; empty ones too many are only doubtful. */
  fits(): boolean {
    const wanted = this.#layout.headings.length;
    const count = this.#cells.length;
    if (count <= wanted) return true;
    const extra = this.#cells.slice(wanted).find((cell) => cell.trim() !== '');
    const place = { file: this.#file, row: this.row, ...(extra === undefined ? {} : { found: extra }) };
    const message = `${count} cells under ${wanted} headings; put a text or number that holds a comma in quotes`;
    if (extra === undefined) this.#findings.warning('row-length', place, message);
    else this.#findings.error('row-length', place, message);
    this.faulty = extra !== undefined;
    return !this.faulty;
  }

  /** The cell as it stands. */
  raw(column: string): string {
    const position = this.#layout.positions.get(column);
    return position === undefined ? '' : (this.#cells[position] ?? '');
  }

  /** The cell without spaces around it. */
  text(column: string): string {
    return this.raw(column).trim();
  }

  /** The cell without spaces around it, the same string for all cells that say the same: for columns that repeat a few names. */
  name(column: string): string {
    const text = this.text(column);
    const kept = this.#names.get(text);
    if (kept !== undefined) return kept;
    this.#names.set(text, text);
    return text;
  }

  /** The cell, which must not be empty. */
  needed(column: string, what: string): string {
    const text = this.name(column);
    if (text === '') this.error('missing', column, `empty; ${what} belongs here`);
    return text;
  }

  /** The number in the cell; `undefined` when it is empty, or refused with a finding. */
  number(column: string, wish: NumberWish = {}): number | undefined {
    const text = this.text(column);
    return text === '' ? undefined : this.parsed(column, text, wish);
  }

  /** The number that `text`, found in `column`, stands for; `undefined` when it is refused. */
  parsed(column: string, text: string, wish: NumberWish = {}): number | undefined {
    const { decimalComma } = this.#layout;
    const mark = decimalComma ? '.' : ',';
    if (text.includes(mark) && EITHER_MARK.test(text)) {
      const whole = text.replace(/[.,]/, '');
      const parted = String(Number(withPoint(text)));
      this.error(
        'ambiguous-number',
        column,
        `${shown(text)} can be ${parted} or ${whole}; write the one that is meant`,
        text,
      );
      return undefined;
    }
    const answer = parseValue(text, decimalComma ? { ...wish, decimalComma } : wish);
    if (!answer.ok) {
      this.error('not-a-number', column, answer.reason, text);
      return undefined;
    }
    const { value } = answer;
    if (value < (wish.from ?? -Infinity) || value > (wish.to ?? Infinity)) {
      this.error('out-of-range', column, `${text} is out of range; here belongs ${wish.wanted}`, text);
      return undefined;
    }
    return value;
  }

  error(code: FindingCode, column: string, message: string, found = this.text(column)): void {
    this.faulty = true;
    this.#findings.error(code, { file: this.#file, row: this.row, column, found }, message);
  }

  warning(code: FindingCode, column: string, message: string, found = this.text(column)): void {
    this.#findings.warning(code, { file: this.#file, row: this.row, column, found }, message);
  }

  /** ` did you mean …?` while the list of findings is short enough to be read. */
  suggestion(code: FindingCode, name: string, candidates: Iterable<string>): string {
    return this.#findings.explains(code, this.#file) ? suggestion(name, candidates) : '';
  }
}

/** A number as the folder holds it: the shortest text that gives the same double; nothing for `undefined`. */
export function numberText(value: number | undefined): string {
  return value === undefined ? '' : String(value);
}

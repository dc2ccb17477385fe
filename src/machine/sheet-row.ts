import { parseValue, type UnitSymbol } from '../quantity/index.ts';
import { type FindingCode, type FindingList, shown } from './finding.ts';
import { suggestion } from './nearest.ts';
import type { SheetLayout } from './sheet.ts';

/** A number whose mark may be a decimal one or one of thousands. */
const EITHER_MARK = /^[+\-\u2212]?[1-9]\d{0,2}[.,]\d{3}$/;

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

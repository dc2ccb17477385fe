/** Which separator and decimal sign a table is written with, and where its numbers begin. */

import {
  type CellKind,
  cellKind,
  type DecimalSign,
  type Separator,
  type TableRow,
  tableRows,
} from './cells.ts';

export interface Layout {
  readonly separator: Separator;
  readonly decimal: DecimalSign;
  readonly rows: readonly TableRow[];
  /** Columns from 0 that hold numbers, or words for want of one. */
  readonly numeric: readonly number[];
  /** Index among `rows` of the first row of numbers. */
  readonly first: number;
  /** Whether all numbers could as well be halves of numbers with a decimal comma. */
  readonly doubtful: boolean;
}

const CANDIDATES: readonly (readonly [Separator, DecimalSign])[] = [
  [',', '.'],
  ['\t', '.'],
  [';', '.'],
  [' ', '.'],
  [';', ','],
  ['\t', ','],
  [' ', ','],
  [',', ','],
];
/**
 * Rows at the end of what is looked at that decide. In a file that is no longer than the most of them, the heading would be among
 * them: there fewer may decide.
 */
const DECIDING = [60, 12, 4, 2, 1];
/** So many of the filled cells of a column of numbers may be text: the heading's in a short file, and what is rubbish. */
const TEXT_SHARE = 0.2;
/** Numbers that make a column, where there are rows enough: a single one is a slip. */
const LEAST_NUMBERS = 2;
/** What a column of text takes from the columns of numbers: a wrong separator cuts text and number apart at chance places. */
const TEXT_WEIGHT = 0.9;
/** Rows of numbers that must follow each other before the first is taken for one. */
const RUN = 3;

/** What a person says of a table's form, which is then not guessed. */
export interface GivenForm {
  readonly separator?: Separator;
  readonly decimal?: DecimalSign;
}

/** The layout under which most cells are numbers; `undefined` where no column is one of numbers. */
export function layoutOf(lines: readonly string[], given: GivenForm): Layout | undefined {
  const filledLines = lines.filter((line) => line.trim() !== '');
  const counts = filledLines.length > DECIDING[0]! ? DECIDING.slice(0, 1) : DECIDING;
  const best = counts
    .flatMap((count) => likeliest(filledLines.slice(-count), given) ?? [])
    .reduce<Candidate | undefined>((good, one) => (one.score > (good?.score ?? 0) ? one : good), undefined);
  if (best === undefined) return undefined;
  let { separator, decimal } = best;
  const guessed = given.separator === undefined && given.decimal === undefined;
  const halves = guessed && separator === ',' && decimal === '.' ? commaHalves(best.end) : 'no';
  if (halves === 'surely') [separator, decimal] = [';', ','];
  const rows = tableRows(lines, separator);
  const { numeric } = numericColumns(filled(tableRows(best.end, separator)), decimal);
  const first = firstRow(rows, numeric, decimal);
  if (first < 0) return undefined;
  return { separator, decimal, rows, numeric, first, doubtful: halves === 'maybe' };
}

interface Candidate {
  readonly separator: Separator;
  readonly decimal: DecimalSign;
  /** The lines that decided. */
  readonly end: readonly string[];
  readonly score: number;
}

/** The separator and decimal sign under which most cells of these lines are numbers. */
function likeliest(end: readonly string[], given: GivenForm): Candidate | undefined {
  let best: Candidate | undefined;
  const quoted = end.some((line) => line.includes('"'));
  for (const [separator, decimal] of CANDIDATES) {
    if (separator !== (given.separator ?? separator) || decimal !== (given.decimal ?? decimal)) continue;
    // A comma can part cells and stand in them only where they are in quotation marks.
    if (separator === decimal && !quoted) continue;
    const { numeric, score } = numericColumns(filled(tableRows(end, separator)), decimal);
    if (numeric.length > 0 && score > (best?.score ?? 0)) best = { separator, decimal, end, score };
  }
  return best;
}

/** Whether a row holds anything. */
export function isFilled({ cells }: TableRow): boolean {
  return cells.some((cell) => cell !== '');
}

function filled(rows: readonly TableRow[]): TableRow[] {
  return rows.filter(isFilled);
}

function numericColumns(
  rows: readonly TableRow[],
  decimal: DecimalSign,
): { numeric: number[]; score: number } {
  const width = Math.min(
    rows.reduce((most, { cells }) => Math.max(most, cells.length), 0),
    10_000,
  );
  const numeric: number[] = [];
  let score = 0;
  let text = 0;
  for (let column = 0; column < width; column++) {
    const counts: Record<CellKind, number> = { number: 0, blank: 0, over: 0, under: 0, none: 0, text: 0 };
    for (const { cells } of rows) counts[cellKind(cells[column] ?? '', decimal)]++;
    const filledCells = rows.length - counts.blank;
    const least = rows.length > 2 * LEAST_NUMBERS ? LEAST_NUMBERS : 1;
    if (counts.number >= least && counts.text <= TEXT_SHARE * filledCells) {
      numeric.push(column);
      score += (filledCells - 3 * counts.text) / rows.length;
    } else text += counts.text / rows.length;
  }
  return { numeric, score: score - TEXT_WEIGHT * text };
}

/**
 * Whether two columns parted by a comma are the halves of one number: surely, where the second begins with a zero before other
 * digits; maybe, where it always is a whole number without a sign and the first one is whole, too.
 */
function commaHalves(lines: readonly string[]): 'surely' | 'maybe' | 'no' {
  const texts = lines.filter((line) => line.trim() !== '');
  const halves = texts.map((line) => /^\s*([+-]?\d+)(?:,(\d+))?\s*$/.exec(line));
  if (!halves.every((match) => match !== null)) return 'no';
  const parts = halves.flatMap((match) => match[2] ?? []);
  if (parts.length === 0) return 'no';
  const firsts = halves.map((match) => Number(match[1]));
  const counts = firsts.every((value, i) => i === 0 || value === firsts[i - 1]! + 1);
  if (parts.some((part) => /^0\d/.test(part)) || halves.some((match) => match[1] === '-0')) return 'surely';
  return counts ? 'no' : 'maybe';
}

function firstRow(rows: readonly TableRow[], numeric: readonly number[], decimal: DecimalSign): number {
  const candidates = rows.flatMap((row, i) => (isFilled(row) ? [i] : []));
  const isNumbers = candidates.map((i) => holdsNumbers(rows[i]!, numeric, decimal));
  const at = isNumbers.findIndex((yes, k) => yes && isNumbers.slice(k, k + RUN).every(Boolean));
  return candidates[at] ?? -1;
}

/** Whether a row is one of numbers: no text in the columns of numbers, and a number in at least one. */
export function holdsNumbers({ cells }: TableRow, numeric: readonly number[], decimal: DecimalSign): boolean {
  const kinds = numeric.map((column) => cellKind(cells[column] ?? '', decimal));
  return kinds.includes('number') && !kinds.includes('text');
}

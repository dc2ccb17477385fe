/**
 * Comma-separated text (RFC 4180) as rows of cells, and cells as text. The separator may be another character,
 * line ends may be CRLF, LF or CR, also mixed.
 */

const QUOTE = 34;
const LF = 10;
const CR = 13;

/** No cell of a machine folder is longer; a quoted one that runs on is a quotation mark without its partner. */
const LONGEST_CELL = 65_536;
const MOST_CELLS = 256;

export interface RawRow {
  /** As a spreadsheet counts, from 1; a cell of several lines is one row, a blank line is one too. */
  readonly row: number;
  /** The cells, or `undefined` when the row cannot be read. */
  readonly cells: readonly string[] | undefined;
  /** Why it cannot be read, and in which cell, from 0. */
  readonly fault?: { readonly code: 'quote' | 'row-length'; readonly cell: number; readonly message: string };
  /** Where the row stands in the text, without its line end. */
  readonly from: number;
  readonly to: number;
}

/**
 * Hands each row of `text` to `take` until that answers false. After a broken quotation the next row is taken
 * to begin at the next line, so that one slip does not swallow the rest of the file.
 */
export function eachRow(text: string, separator: string, take: (row: RawRow) => boolean): void {
  const split = separator.charCodeAt(0);
  const end = text.length;
  let at = text.charCodeAt(0) === 0xfeff ? 1 : 0;
  for (let row = 1; at < end; row++) {
    const from = at;
    const cells: string[] = [];
    let fault: RawRow['fault'];
    for (;;) {
      if (cells.length === MOST_CELLS) {
        const message = `more than ${MOST_CELLS} cells in one row`;
        fault = { code: 'row-length', cell: MOST_CELLS, message };
        break;
      }
      if (text.charCodeAt(at) === QUOTE) {
        const close = closingQuote(text, at);
        const next = close < 0 ? 0 : close + 1 === end ? LF : text.charCodeAt(close + 1);
        if (close < 0 || (next !== split && next !== LF && next !== CR)) {
          fault = { code: 'quote', cell: cells.length, message: quoteFault(text, at, close) };
          break;
        }
        cells.push(text.slice(at + 1, close).replaceAll('""', '"'));
        at = close + 1;
      } else {
        let stop = at;
        for (; stop < end; stop++) {
          const code = text.charCodeAt(stop);
          if (code === split || code === LF || code === CR) break;
        }
        cells.push(text.slice(at, stop));
        at = stop;
      }
      if (at >= end || text.charCodeAt(at) !== split) break;
      at++;
    }
    if (fault !== undefined) at = lineEnd(text, from);
    const to = at;
    if (text.charCodeAt(at) === CR && text.charCodeAt(at + 1) === LF) at += 2;
    else if (at < end) at++;
    if (!take(fault === undefined ? { row, cells, from, to } : { row, cells: undefined, fault, from, to }))
      return;
  }
}

/** Position of the quotation mark that ends the cell begun at `open`, or -1. */
function closingQuote(text: string, open: number): number {
  let at = open + 1;
  for (;;) {
    const close = text.indexOf('"', at);
    if (close < 0 || close - open > LONGEST_CELL) return -1;
    if (text.charCodeAt(close + 1) !== QUOTE) return close;
    at = close + 2;
  }
}

function quoteFault(text: string, open: number, close: number): string {
  const cell = JSON.stringify(text.slice(open, Math.min(open + 24, lineEnd(text, open))));
  return close < 0
    ? `the quotation mark that opens ${cell} is never closed; close it, or double it if it belongs to the text`
    : `after the closing quotation mark of ${cell} the cell goes on; double a quotation mark that belongs to the text, and put the whole cell in quotes`;
}

function lineEnd(text: string, from: number): number {
  let at = from;
  for (; at < text.length; at++) {
    const code = text.charCodeAt(at);
    if (code === LF || code === CR) break;
  }
  return at;
}

// biome-ignore lint/suspicious/noControlCharactersInRegex: they are what is looked for
const CONTROL = /[\u0000-\u0008\u000b\u000c\u000e-\u001f]/g;

/** A row of cells as text, quoted where needed; control characters, which no reader takes, become spaces. */
export function rowText(cells: readonly string[], separator: string): string {
  return cells
    .map((cell) => {
      const clean = cell.replace(CONTROL, ' ');
      const plain = !/["\r\n]/.test(clean) && !clean.includes(separator);
      return plain ? clean : `"${clean.replaceAll('"', '""')}"`;
    })
    .join(separator);
}

/** Rows of a text file into traces, as they come. */

import type { Finding, FindingCode } from '../../machine/index.ts';
import type { Timebase, Trace } from '../../waveform/index.ts';
import {
  type CaptureReader,
  type CaptureResult,
  mostSamples,
  Refusal,
  RefusingReader,
  shown,
} from '../capture.ts';
import { type GrowingFloats, growingDoubles, growingSingles } from '../growing-floats.ts';
import { timebaseOf } from '../timebase.ts';
import { cellKind, cellNumber } from './cells.ts';
import { understandingFaults } from './correction.ts';
import { Utf8Pieces } from './encoding.ts';
import { NumberScanner } from './number-scanner.ts';
import { columnTitle, type TextUnderstanding } from './understanding.ts';
import { isCut } from './unended-line.ts';

/** Bytes of a line beyond which it is none: 256 columns of the longest numbers stay below. */
const LONGEST_LINE = 64 * 1024;
/** Complete lines that the last, unended one is compared with. */
const COMPARED_BYTES = 2048;
/** SCPI-99, volume 1, 7.2.1.4 and 7.2.1.5 (from memory): infinity is written 9.9E37, not a number 9.91E37. */
const SCPI_INFINITY = 9.9e37;
const SCPI_NONE = 9.91e37;

const TAB = 9;
const LF = 10;
const CR = 13;
const SPACE = 32;
const QUOTE = 34;

/**
 * Reads a table as it was understood. Memory: 4 bytes a sample of each channel and 8 a sample for its instant, and once more for
 * one of them at the end.
 *
 * @throws RangeError  when the understanding has faults (see `understandingFaults`)
 */
export function textReader(understanding: TextUnderstanding, file: string): CaptureReader {
  const [fault] = understandingFaults(understanding);
  if (fault !== undefined) throw new RangeError(`no reading by this understanding: ${fault}`);
  return new TextReader(understanding, file);
}

interface Channel {
  readonly column: number;
  readonly gain: number;
  readonly offset: number;
  readonly values: GrowingFloats<Float32Array<ArrayBuffer>>;
  over: number;
  under: number;
}

class TextReader extends RefusingReader {
  readonly #understanding: TextUnderstanding;
  readonly #file: string;
  readonly #pieces: Utf8Pieces;
  readonly #scanner = new NumberScanner();
  readonly #separator: number;
  readonly #decimal: number;
  readonly #lineEnd: number;
  readonly #channels: readonly Channel[];
  /** Column of the times or of the sequence numbers; -1 where neither is. */
  readonly #clock: number;
  readonly #clockGain: number;
  readonly #clockOffset: number;
  /** Whether a column's cells are numbers to be read. */
  readonly #isRead: readonly boolean[];
  /** Cells that a row must have. */
  readonly #least: number;
  /** Numbers of the row in hand, by column; NaN where a cell holds none. */
  readonly #cells: Float64Array;
  /** Cells of the row in hand that say over or under range. */
  #out: { readonly column: number; readonly kind: 'over' | 'under' }[] = [];
  readonly #stamps = growingDoubles();
  /** The beginning of a line whose end has not come. */
  #open = new Uint8Array(0);
  /** The last complete lines. */
  #recent = new Uint8Array(0);
  #line = 0;
  /** Samples of a channel beyond which the file is refused. */
  readonly #most: number;
  rows = 0;
  /** 1 for times that rise, -1 for times that fall, 0 before two differ. */
  #direction = 0;
  #stamp = Number.NaN;
  #repeated = 0;
  #firstRepeated = 0;
  /** Of the times but for zeros: the finest power of ten of a last digit, the most digits as a number, the largest time. */
  #finest = Number.POSITIVE_INFINITY;
  #mostDigits = 0;
  #largest = 0;

  constructor(understanding: TextUnderstanding, file: string) {
    super();
    const { columns, encoding, separator, decimal, lineEnd, start, interval } = understanding;
    this.#understanding = understanding;
    this.#file = file;
    this.#pieces = new Utf8Pieces(encoding);
    this.#separator = separator.charCodeAt(0);
    this.#decimal = decimal.charCodeAt(0);
    this.#lineEnd = lineEnd === 'LF' ? LF : CR;
    const time = columns.findIndex(({ role }) => role === 'time');
    this.#clock = time >= 0 ? time : columns.findIndex(({ role }) => role === 'sequence');
    this.#clockGain = time >= 0 ? columns[time]!.factor * columns[time]!.probe : (interval ?? 0);
    this.#clockOffset = time >= 0 ? columns[time]!.offset : start;
    this.#channels = columns.flatMap(({ role, factor, probe, offset }, column) =>
      role === 'channel'
        ? [{ column, gain: factor * probe, offset, values: growingSingles(), over: 0, under: 0 }]
        : [],
    );
    this.#most = mostSamples(this.#channels.length);
    this.#isRead = columns.map(({ role }, column) => role === 'channel' || column === this.#clock);
    this.#least = this.#isRead.lastIndexOf(true) + 1;
    this.#cells = new Float64Array(columns.length);
  }

  protected take(piece: Uint8Array): void {
    const bytes = this.#pieces.piece(piece);
    let from = 0;
    if (this.#open.length > 0) {
      const end = bytes.indexOf(this.#lineEnd) + 1;
      this.#keepOpen(end === 0 ? bytes : bytes.subarray(0, end));
      if (end === 0) return;
      const line = this.#open;
      this.#open = new Uint8Array(0);
      this.#lines(line, 0, line.length);
      from = end;
    }
    const end = Math.max(bytes.lastIndexOf(this.#lineEnd) + 1, from);
    this.#lines(bytes, from, end);
    this.#keepOpen(bytes.subarray(end));
  }

  #keepOpen(more: Uint8Array): void {
    if (this.#open.length + more.length > LONGEST_LINE) {
      const message = `the line is longer than ${LONGEST_LINE / 1024} kB; a capture has a line for each sample`;
      throw this.#refusal('row-length', this.#line + 1, message);
    }
    if (more.length === 0) return;
    const longer = new Uint8Array(this.#open.length + more.length);
    longer.set(this.#open);
    longer.set(more, this.#open.length);
    this.#open = longer;
  }

  /** Complete lines from `from` to before `to`, where the last line end is behind. */
  #lines(bytes: Uint8Array, from: number, to: number): void {
    let at = from;
    while (at < to && this.#line < this.#understanding.headerLines) {
      at = bytes.indexOf(this.#lineEnd, at) + 1;
      this.#line++;
    }
    while (at < to) at = this.#row(bytes, at);
    const last = bytes.subarray(Math.max(from, to - COMPARED_BYTES), to);
    const before = last.length < COMPARED_BYTES ? this.#recent.subarray(last.length - COMPARED_BYTES) : [];
    const recent = new Uint8Array(before.length + last.length);
    recent.set(before);
    recent.set(last, before.length);
    this.#recent = recent;
  }

  /** One line, whose end the bytes hold; gives the position after it. */
  #row(bytes: Uint8Array, start: number): number {
    const scanner = this.#scanner;
    const separator = this.#separator;
    const lineEnd = this.#lineEnd;
    const decimal = this.#decimal;
    const isRead = this.#isRead;
    const cells = this.#cells;
    const byBlanks = separator === SPACE;
    this.#line++;
    let empty = true;
    let column = 0;
    let p = start;
    for (;;) {
      let c = bytes[p]!;
      while (c === SPACE || (c === TAB && separator !== TAB) || (c === CR && lineEnd === LF)) c = bytes[++p]!;
      // Blanks at the end of a line whose cells are parted by blanks are no cell.
      if (c === lineEnd && (column === 0 || byBlanks)) break;
      if (column < isRead.length && isRead[column]) {
        const begin = p;
        let value = scanner.number(bytes, p, decimal);
        let plain = value < SCPI_INFINITY && value > -SCPI_INFINITY;
        if (plain) {
          p = scanner.end;
          c = bytes[p]!;
          if (!byBlanks) {
            while (c === SPACE || (c === TAB && separator !== TAB)) c = bytes[++p]!;
          }
          while (c === CR && lineEnd === LF) c = bytes[++p]!;
          plain = c === separator || c === lineEnd || (byBlanks && c === TAB);
        }
        if (!plain) {
          p = this.#cellEnd(bytes, begin);
          value = this.#oddCell(bytes, begin, p, column);
          if (bytes[begin] !== separator && bytes[begin] !== lineEnd) empty = false;
        } else {
          empty = false;
          if (column === this.#clock && value !== 0) this.#noteDigits(value);
        }
        cells[column] = value;
      } else {
        const begin = p;
        p = this.#cellEnd(bytes, begin);
        if (p > begin) {
          if (column >= isRead.length) throw this.#surplus(bytes, begin, p, column);
          empty = false;
        }
      }
      column++;
      if (bytes[p] === lineEnd) break;
      p++;
    }
    if (!empty) this.#keepRow(column);
    return p + 1;
  }

  #noteDigits(time: number): void {
    const { power, digits } = this.#scanner;
    if (power < this.#finest) this.#finest = power;
    if (digits > this.#mostDigits) this.#mostDigits = digits;
    const size = Math.abs(time);
    if (size > this.#largest) this.#largest = size;
  }

  /**
   * Half a unit of the last digit of the times. Either all end at the same power of ten, or all have as many digits, of which the
   * largest time's last one is the coarsest; zeros at the end may have been left out of any.
   */
  #rounding(): number {
    if (this.#largest === 0) return 0;
    const bySize = Math.floor(Math.log10(this.#largest)) - Math.floor(Math.log10(this.#mostDigits));
    return (Math.abs(this.#clockGain) * 10 ** Math.max(bySize, this.#finest)) / 2;
  }

  /** Position of the separator or line end after a cell. */
  #cellEnd(bytes: Uint8Array, begin: number): number {
    const separator = this.#separator;
    const lineEnd = this.#lineEnd;
    let p = begin;
    let quoted = false;
    for (let c = bytes[p]!; quoted || (c !== separator && c !== lineEnd); c = bytes[++p]!) {
      if (c === QUOTE) quoted = !quoted;
      else if (c === lineEnd) {
        throw this.#refusal('quote', this.#line, 'a quotation mark is opened and not closed on its line');
      } else if (c === TAB && separator === SPACE) break;
    }
    return p;
  }

  /** A cell that is no plain number: blank, in quotation marks, a word for being out of range, or nothing that belongs here. */
  #oddCell(bytes: Uint8Array, begin: number, end: number, column: number): number {
    if (end === begin) return Number.NaN;
    const { decimal } = this.#understanding;
    // The decoder also takes off a byte order mark before the first cell.
    const text = new TextDecoder().decode(bytes.subarray(begin, end)).trim();
    const cell = text.replace(/^"(.*)"$/, '$1').trim();
    let kind = cellKind(cell, decimal);
    if (kind === 'number') {
      const value = cellNumber(cell, decimal);
      if (Math.abs(value) < SCPI_INFINITY) return value;
      kind = value < 0 ? 'under' : value === SCPI_NONE ? 'none' : 'over';
    }
    if (kind === 'text') {
      throw this.#refusal(
        'not-a-number',
        this.#line,
        `${shown(cell)} is no number; a number with a decimal ${decimal === ',' ? 'comma' : 'point'} belongs here`,
        column,
        cell,
      );
    }
    if (kind === 'over' || kind === 'under') this.#out.push({ column, kind });
    return Number.NaN;
  }

  #keepRow(found: number): void {
    const cells = this.#cells;
    if (found < this.#least) {
      const message = `${found} ${found === 1 ? 'cell' : 'cells'} where ${this.#least} belong`;
      throw this.#refusal('row-length', this.#line, message);
    }
    if (this.rows === this.#most) {
      const message = `more than ${this.#most.toLocaleString('en')} samples; export a part of the capture`;
      throw this.#refusal('file-too-large', this.#line, message);
    }
    if (this.#clock >= 0 && !this.#keepInstant(cells[this.#clock]! * this.#clockGain + this.#clockOffset)) {
      this.#out = [];
      return;
    }
    this.rows++;
    const channels = this.#channels;
    for (let i = 0; i < channels.length; i++) {
      const channel = channels[i]!;
      channel.values.add(cells[channel.column]! * channel.gain + channel.offset);
    }
    if (this.#out.length === 0) return;
    for (const { column, kind } of this.#out) {
      const channel = channels.find((one) => one.column === column);
      if (channel) channel[kind]++;
    }
    this.#out = [];
  }

  /** Whether the row belongs to an instant that was not there before. */
  #keepInstant(stamp: number): boolean {
    const step = stamp - this.#stamp;
    if (this.rows > 0 && step === 0) {
      if (this.#repeated++ === 0) this.#firstRepeated = this.#line;
      return false;
    }
    if (!Number.isFinite(stamp)) {
      throw this.#refusal('missing', this.#line, 'the row has values and no time', this.#clock);
    }
    const direction = Math.sign(step);
    if (this.rows > 1 && direction !== this.#direction) {
      const way = direction < 0 ? 'back' : 'forward';
      throw this.#refusal(
        'out-of-range',
        this.#line,
        `the time goes ${way} from ${this.#stamp} s to ${stamp} s; it must rise, or fall, throughout`,
        this.#clock,
      );
    }
    if (this.rows === 1) this.#direction = direction;
    this.#stamp = stamp;
    this.#stamps.add(stamp);
    return true;
  }

  #surplus(bytes: Uint8Array, begin: number, end: number, column: number): Refusal {
    const found = new TextDecoder().decode(bytes.subarray(begin, end));
    const message = `${shown(found)} in cell ${column + 1}; the table has ${this.#cells.length} columns`;
    return this.#refusal('row-length', this.#line, message, undefined, found);
  }

  protected finish(): CaptureResult {
    const findings: Finding[] = [];
    const warn = (code: FindingCode, message: string, place: Partial<Finding> = {}): void => {
      findings.push({ severity: 'warning', code, file: this.#file, ...place, message });
    };
    this.#takeOpen(warn);
    if (this.rows < 2) {
      const message = `${this.rows === 0 ? 'no row' : 'a single row'} of numbers; a waveform has two samples at least`;
      throw this.#refusal('not-a-table', this.#line, message);
    }
    const falls = this.#direction < 0;
    if (falls) warn('format', 'the times fall: the samples were put into rising order');
    if (this.#repeated > 0) {
      warn(
        'duplicate',
        `${counted(this.#repeated, 'row')} with the time of the row before dropped, the first in line ${this.#firstRepeated}`,
        { row: this.#firstRepeated },
      );
    }
    const { samples, columns } = this.#understanding;
    if (samples !== undefined && this.rows + this.#repeated < samples) {
      warn('missing', `the heading counts ${samples} samples; ${this.rows} were read`);
    }
    const timebase = this.#timebase(falls);
    const traces = this.#channels.map((channel): Trace => {
      const { column, over, under } = channel;
      const { unit } = columns[column]!;
      const name = columnTitle(columns[column]!, column);
      const values = channel.values.taken();
      if (falls) values.reverse();
      const missing = values.reduce((sum, value) => (Number.isNaN(value) ? sum + 1 : sum), 0);
      if (missing > 0) {
        const place = { column: name };
        const why = `${over} over the range, ${under} under it`;
        warn('missing', `${counted(missing, 'sample')} without a value (${why})`, place);
      }
      return { name, unit, timebase, values };
    });
    return { capture: { traces, logic: [] }, findings };
  }

  #takeOpen(warn: (code: FindingCode, message: string, place?: Partial<Finding>) => void): void {
    const decoder = new TextDecoder();
    const open = this.#open;
    const text = decoder.decode(open);
    if (text.trim() === '') return;
    const { separator, decimal, headerLines } = this.#understanding;
    // The first of the recent lines may have lost its beginning.
    const lines = decoder.decode(this.#recent).split(this.#lineEnd === LF ? /\r*\n/ : '\r');
    const whole = lines.slice(this.#recent.length < COMPARED_BYTES ? 0 : 1, -1);
    const recent = whole.slice(-Math.max(0, Math.min(whole.length, this.#line - headerLines)));
    if (this.rows > 0 && isCut(text, recent, { separator, decimal, least: this.#least })) {
      const row = this.#line + 1;
      warn('row-length', 'the file ends in the middle of this line: it was left out', { row });
      return;
    }
    const line = new Uint8Array(open.length + 1);
    line.set(open);
    line[open.length] = this.#lineEnd;
    this.#lines(line, 0, line.length);
  }

  #timebase(falls: boolean): Timebase {
    if (this.#clock < 0) {
      return { start: this.#understanding.start, step: this.#understanding.interval! };
    }
    const stamps = this.#stamps.taken();
    if (falls) stamps.reverse();
    return timebaseOf(stamps, this.#rounding());
  }

  #refusal(code: FindingCode, row: number, message: string, column?: number, found?: string): Refusal {
    return new Refusal({
      code,
      file: this.#file,
      row,
      ...(column === undefined ? {} : { column: columnTitle(this.#understanding.columns[column]!, column) }),
      ...(found === undefined ? {} : { found: found.slice(0, 60) }),
      message,
    });
  }
}

function counted(count: number, noun: string): string {
  return `${count.toLocaleString('en')} ${noun}${count === 1 ? '' : 's'}`;
}

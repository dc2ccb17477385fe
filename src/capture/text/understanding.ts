/**
 * What a text file is understood to hold, made from its first 64 kB: one plain object that a person may correct, that drives the
 * reading, and that is kept for the instrument.
 */

import type { Finding } from '../../machine/index.ts';
import { Refusal, shown } from '../capture.ts';
import { cellKind, cellNumber, type DecimalSign, type Separator, type TableRow, tableRows } from './cells.ts';
import { controlByte, encodingOf, type TextEncodingName } from './encoding.ts';
import { headings } from './headings.ts';
import { type GivenForm, holdsNumbers, type Layout, layoutOf } from './layout.ts';
import { type Settings, settingsOf } from './settings.ts';

/** What a column is for. Values are `cell * factor * probe + offset`, in `unit`. */
export interface CaptureColumn {
  /** `time`: the instants. `sequence`: the samples counted, `start` and `interval` give the instants. `skip`: not read. */
  readonly role: 'time' | 'sequence' | 'channel' | 'skip';
  readonly name: string;
  /** Without a prefix: `V`, `A`, `s`; empty where the file does not say. */
  readonly unit: string;
  /** Of the written unit: 1e-3 for millivolts. */
  readonly factor: number;
  /** By how much the probe divided what the file holds; 1 where the instrument already multiplied. */
  readonly probe: number;
  /** Added at last, in `unit`. */
  readonly offset: number;
}

/** Plain data throughout: it may be turned into JSON and back. */
export interface TextUnderstanding {
  readonly kind: 'text';
  /** Alike for files of one instrument with the same columns, whatever it measured. */
  readonly signature: string;
  readonly encoding: TextEncodingName;
  readonly lineEnd: 'LF' | 'CR';
  readonly separator: Separator;
  readonly decimal: DecimalSign;
  /** Lines before the first row of numbers. */
  readonly headerLines: number;
  readonly columns: readonly CaptureColumn[];
  /** Seconds of the first sample, where there is no column of times. */
  readonly start: number;
  /** Seconds from one sample to the next, where there is no column of times; without it such a file is not read. */
  readonly interval?: number;
  /** Samples as the heading counts them. */
  readonly samples?: number;
  /** What is not certain, in words for the person who looks at it. */
  readonly doubts: readonly string[];
}

/** Bytes of a file that an understanding is made from. */
export const HEAD_BYTES = 64 * 1024;
/** Columns beyond which a table is no capture. */
const MOST_COLUMNS = 256;
/** Rows of numbers that are looked at for steps and settings. */
const LOOKED_AT = 400;
/** Two intervals agree within this share, and what the written digits leave open. */
const AGREE_SHARE = 1e-4;
/** No probe of a capture of these machines sees more volts. */
const IMPLAUSIBLE_VOLTS = 1000;

/**
 * What the table is understood to be, or a refusal with the line named.
 *
 * @param bytes  the first `HEAD_BYTES` of the file, or all of a shorter one; what is beyond is not looked at
 * @param given  separator and decimal sign, where a person corrected them
 */
export function textUnderstanding(
  bytes: Uint8Array,
  file: string,
  given: GivenForm = {},
): { understanding: TextUnderstanding | undefined; findings: readonly Finding[] } {
  try {
    return { understanding: understood(bytes, file, given), findings: [] };
  } catch (error) {
    if (error instanceof Refusal) return { understanding: undefined, findings: [error.finding] };
    throw error;
  }
}

function understood(bytes: Uint8Array, file: string, given: GivenForm): TextUnderstanding {
  const head = bytes.subarray(0, HEAD_BYTES);
  const encoding = encodingOf(head);
  if (encoding === undefined) throw notText(head, file);
  const text = new TextDecoder(encoding).decode(head, { stream: true });
  const lineEnd = text.includes('\n') ? 'LF' : 'CR';
  const lines = linesOf(text, lineEnd);
  // The last one is not whole, or it is the nothing after the last line end.
  if (lines.length > 1 && (bytes.length >= HEAD_BYTES || lines.at(-1) === '')) lines.pop();
  else if (bytes.length >= HEAD_BYTES) {
    const message = `no line ends within the first ${HEAD_BYTES / 1024} kB: a capture has a line for each sample`;
    throw new Refusal({ code: 'not-a-table', file, row: 1, found: text.slice(0, 40), message });
  }
  const layout = layoutOf(lines, given);
  if (layout === undefined) {
    const line = lines.findIndex((one) => one.trim() !== '');
    const message =
      line < 0
        ? 'the file holds nothing'
        : `no column of numbers below ${shown(lines[line]!)}: a capture is a table with a row for each sample`;
    throw new Refusal({ code: 'not-a-table', file, row: Math.max(line, 0) + 1, message });
  }
  return table(layout, encoding, lineEnd, file);
}

function linesOf(text: string, lineEnd: TextUnderstanding['lineEnd']): string[] {
  return text.split(lineEnd === 'LF' ? /\r*\n/ : '\r');
}

/**
 * The first rows of a file as they are parted into cells, heading and samples, to be shown beside what was understood.
 *
 * @param bytes  the first bytes of the file
 * @param most   rows at most
 */
export function firstRows(bytes: Uint8Array, understanding: TextUnderstanding, most: number): TableRow[] {
  const { encoding, lineEnd, separator } = understanding;
  const text = new TextDecoder(encoding).decode(bytes.subarray(0, HEAD_BYTES), { stream: true });
  return tableRows(linesOf(text, lineEnd).slice(0, most), separator);
}

function notText(head: Uint8Array, file: string): Refusal {
  const at = Math.max(controlByte(head), 0);
  const hex = `0x${head[at]!.toString(16).toUpperCase().padStart(2, '0')}`;
  const row = head.subarray(0, at).reduce((line, byte) => line + (byte === 10 ? 1 : 0), 1);
  const what = head[at] === 0 ? 'a NUL byte' : `control byte ${hex}`;
  const message = `${what} at byte ${at}: no text; export the capture as a table (CSV), WAV or value changes`;
  return new Refusal({ code: 'binary', file, row, found: hex, message });
}

function table(
  layout: Layout,
  encoding: TextEncodingName,
  lineEnd: TextUnderstanding['lineEnd'],
  file: string,
): TextUnderstanding {
  const { separator, decimal, rows, numeric, first } = layout;
  const data = rows
    .slice(first)
    .filter((row) => holdsNumbers(row, numeric, decimal))
    .slice(0, LOOKED_AT);
  const line = rows[first]!.line;
  const width = tableWidth(data, numeric);
  if (width > MOST_COLUMNS) {
    const message = `${width} columns; a capture has at most ${MOST_COLUMNS}`;
    throw new Refusal({ code: 'row-length', file, row: line, message });
  }
  if (data.length < 2) {
    const message = 'a single row of numbers; a waveform has two samples at least';
    throw new Refusal({ code: 'not-a-table', file, row: line, message });
  }
  const heading = rows.slice(0, first);
  const settings = settingsOf(heading, data.slice(0, 60), (column) => !numeric.includes(column), decimal);
  const values = new Map(numeric.map((column) => [column, columnNumbers(data, column, decimal)]));
  const { columns, named } = headings(heading, settings, numeric, values, width);
  if (!columns.some(({ role }) => role === 'channel')) {
    const message =
      'no column of values, only one of times; a channel is a column that holds numbers throughout';
    throw new Refusal({ code: 'not-a-table', file, row: line, message });
  }
  const doubts: string[] = [];
  if (layout.doubtful) {
    doubts.push('a comma parts two whole numbers in each row: could it be a decimal comma?');
  }
  const timing = timed(columns, values, settings, doubts);
  channelDoubts(timing.columns, values, settings, doubts);
  return {
    kind: 'text',
    signature: signatureOf(layout, named, settings, timing.columns),
    encoding,
    lineEnd,
    separator,
    decimal,
    headerLines: line - 1,
    columns: timing.columns,
    start: timing.start,
    ...(timing.interval === undefined ? {} : { interval: timing.interval }),
    ...(settings.samples !== undefined && settings.samples >= 1 && settings.samples <= 1e9
      ? { samples: settings.samples }
      : {}),
    doubts,
  };
}

/** Columns of numbers and those that more than one row fills: what stands further right in a single row is a slip. */
function tableWidth(rows: readonly TableRow[], numeric: readonly number[]): number {
  const ends = rows.map(({ cells }) => cells.findLastIndex((cell) => cell !== '') + 1);
  return Math.max(numeric.at(-1)! + 1, ends.sort((a, b) => b - a)[1] ?? 0);
}

function columnNumbers(rows: readonly TableRow[], column: number, decimal: DecimalSign): number[] {
  return rows.map(({ cells }) => {
    const cell = cells[column] ?? '';
    return cellKind(cell, decimal) === 'number' ? cellNumber(cell, decimal) : Number.NaN;
  });
}

/** Where the instants come from, and what speaks against it. */
function timed(
  columns: readonly CaptureColumn[],
  values: ReadonlyMap<number, readonly number[]>,
  settings: Settings,
  doubts: string[],
): { columns: readonly CaptureColumn[]; start: number; interval: number | undefined } {
  const { interval } = settings;
  const at = columns.findIndex(({ role }) => role === 'time');
  if (at < 0) {
    if (interval === undefined) {
      doubts.push('there is no column of times and no sample interval in the heading: how long is a sample?');
    }
    return { columns, start: settings.start ?? 0, interval };
  }
  const time = columns[at]!;
  const stamps = values.get(at)!.map((value) => value * time.factor);
  const first = stamps[0]!;
  const steps = stamps.slice(1).map((stamp, i) => stamp - stamps[i]!);
  const still = steps.filter((step) => step === 0).length;
  const step = Math.abs(stamps.at(-1)! - first) / steps.length;
  if (time.unit === '') doubts.push(`${columnTitle(time, at)}: no unit is stated, taken to be seconds`);
  columns.forEach((column, i) => {
    const others = column.role === 'skip' && column.unit === 's' ? values.get(i) : undefined;
    if (others === undefined || others.every((value, row) => value * column.factor === stamps[row])) return;
    const titles = [columnTitle(column, i), columnTitle(time, at)];
    doubts.push(`${titles[0]}: other times than those of ${titles[1]}; only the latter are taken`);
  });
  const seconds = { ...time, unit: 's' };
  const withTime = (role: 'time' | 'skip') => columns.map((c, i) => (i === at ? { ...seconds, role } : c));
  if (interval === undefined) return { columns: withTime('time'), start: 0, interval };
  if (still > steps.length / 10 && Math.abs(step - interval) * steps.length < 4 * largestStep(steps)) {
    doubts.push(
      `${columnTitle(time, at)}: too few digits to part the samples; the heading's interval of ${interval} s is taken`,
    );
    return { columns: withTime('skip'), start: first, interval };
  }
  // A stamp is rounded to its last digit, which shows in how far the steps differ.
  const open = (largestStep(steps) - smallestStep(steps)) / steps.length;
  if (Math.abs(step - interval) > AGREE_SHARE * interval + open) {
    doubts.push(
      `the step of the time column, ${digits(step)} s, does not agree with the interval in the heading, ${digits(interval)} s; the column is taken`,
    );
  }
  return { columns: withTime('time'), start: 0, interval };
}

function largestStep(steps: readonly number[]): number {
  return steps.reduce((most, step) => Math.max(most, Math.abs(step)), 0);
}

function smallestStep(steps: readonly number[]): number {
  return steps.reduce((least, step) => Math.min(least, Math.abs(step)), Infinity);
}

function channelDoubts(
  columns: readonly CaptureColumn[],
  values: ReadonlyMap<number, readonly number[]>,
  settings: Settings,
  doubts: string[],
): void {
  columns.forEach((column, i) => {
    if (column.role !== 'channel') return;
    const most = values.get(i)!.reduce((top, v) => (Number.isNaN(v) ? top : Math.max(top, Math.abs(v))), 0);
    const reached = most * column.factor;
    const name = columnTitle(column, i);
    if (column.unit === '') doubts.push(`${name}: no unit is stated`);
    if (column.unit !== 'A' && reached > IMPLAUSIBLE_VOLTS && most < 9.8e37) {
      const volts = column.unit === '' ? '' : ` ${column.unit}`;
      doubts.push(`${name}: the values reach ${digits(reached)}${volts}: millivolts?`);
    }
  });
  const probes = settings.probes.filter((probe) => probe !== 1);
  if (probes.length > 0) {
    doubts.push(
      `the heading states a probe of ${probes[0]}; the values are taken to be those at its tip, as most instruments write them`,
    );
  }
}

/** What a message calls a column: its name, else its place from 1. */
export function columnTitle({ name }: CaptureColumn, index: number): string {
  return name === '' ? `column ${index + 1}` : name;
}

function digits(value: number): string {
  return String(Number(value.toPrecision(4)));
}

/** Says nothing of what was measured: names of settings and columns, no values. */
function signatureOf(
  { separator, decimal }: Layout,
  named: readonly string[],
  settings: Settings,
  columns: readonly CaptureColumn[],
): string {
  const keys = settings.keys.filter((key) => !/^[\d.+-]*$/.test(key));
  const roles = columns.map(({ role }) => (role === 'channel' ? 'c' : role === 'skip' ? '-' : 't')).join('');
  return hash(JSON.stringify([separator, decimal, named, [...new Set(keys)], roles]));
}

/** Fowler, Noll and Vo's hash of 32 bits (FNV-1a, from memory) from two starts, as 16 hexadecimal digits. */
function hash(text: string): string {
  return [0x811c9dc5, 0x9747b28c]
    .map((start) => {
      let sum = start;
      for (let i = 0; i < text.length; i++) sum = Math.imul(sum ^ text.charCodeAt(i), 0x01000193);
      return (sum >>> 0).toString(16).padStart(8, '0');
    })
    .join('');
}

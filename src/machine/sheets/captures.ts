import { shown } from '../finding.ts';
import type { Sheet } from '../sheet.ts';
import { numberText, type SheetRow } from '../sheet-row.ts';
import { FILE_NAME } from './photographs.ts';
import { moment } from './readings.ts';

/** A file of an oscilloscope, a sound card or a logic analyser; it lies in `captures/` as the instrument wrote it. */
export interface MachineCapture {
  readonly file: string;
  /** Empty where nobody has said. */
  readonly unit: string;
  readonly condition: string;
  /** ISO 8601, or empty. */
  readonly takenAt: string;
  readonly instrument: string;
  readonly note: string;
  /** How a text file is to be read, as JSON; empty: as it is understood anew. */
  readonly understanding: string;
}

/** What a channel of a capture was on. */
export interface CaptureChannelRow {
  readonly file: string;
  /** Its name in the file; its number from 1 where the name is empty, a number, or that of another channel too. */
  readonly channel: string;
  /** A point of the machine, or empty. */
  readonly point: string;
  /** By how much the probe divided what the file holds; of a sound file, the volts of full scale. `undefined`: as the file says. */
  readonly factor: number | undefined;
  /** Added at last, in the channel's unit. */
  readonly offset: number | undefined;
  readonly note: string;
}

/** captures.csv: what the files in `captures/` are. */
export const CAPTURES: Sheet<MachineCapture> = {
  file: 'captures.csv',
  columns: ['file', 'unit', 'condition', 'taken_at', 'instrument', 'note', 'understanding'],
  required: ['file'],
  numeric: [],
  read: capture,
  key: ({ file }) => file,
  repeat: {
    severity: 'error',
    code: 'duplicate',
    column: 'file',
    message: ({ file }, first) => `${file} stands in row ${first} already; a capture has one row`,
  },
  cells: ({ takenAt, ...c }) => ({ ...c, taken_at: takenAt }),
};

/** capture-channels.csv: which point each channel was on. */
export const CAPTURE_CHANNELS: Sheet<CaptureChannelRow> = {
  file: 'capture-channels.csv',
  columns: ['file', 'channel', 'point', 'factor', 'offset', 'note'],
  required: ['file', 'channel'],
  numeric: ['factor', 'offset'],
  read: channel,
  key: ({ file, channel }) => `${file}\n${channel}`,
  repeat: {
    severity: 'error',
    code: 'duplicate',
    column: 'channel',
    message: ({ channel }, first) => `${channel} stands in row ${first} already; a channel has one row`,
  },
  cells: (c) => ({ ...c, factor: numberText(c.factor), offset: numberText(c.offset) }),
};

function capture(row: SheetRow): MachineCapture | undefined {
  const file = fileOf(row);
  const takenAt = moment(row);
  const understanding = row.text('understanding');
  if (understanding !== '' && !isObject(understanding)) {
    row.error(
      'json-syntax',
      'understanding',
      'this is no JSON object; leave it empty, and the file is understood anew',
    );
  }
  if (file === '' || row.faulty) return undefined;
  return {
    file,
    unit: row.text('unit'),
    condition: row.text('condition'),
    takenAt,
    instrument: row.text('instrument'),
    note: row.raw('note'),
    understanding,
  };
}

function channel(row: SheetRow): CaptureChannelRow | undefined {
  const file = fileOf(row);
  const name = row.needed('channel', 'the name of the channel in the file, or its number from 1');
  const factor = row.number('factor', FACTOR);
  const offset = row.number('offset', OFFSET);
  if (factor === 0) row.error('out-of-range', 'factor', 'a factor of 0 leaves nothing of a channel');
  if (file === '' || name === '' || row.faulty) return undefined;
  return { file, channel: name, point: row.text('point'), factor, offset, note: row.raw('note') };
}

const FACTOR = { from: -1e12, to: 1e12, wanted: 'the factor of the probe, such as 10' };
const OFFSET = { from: -1e12, to: 1e12, wanted: 'what is added to each value' };

function fileOf(row: SheetRow): string {
  const file = row.needed('file', 'the name of a file in the folder captures');
  if (file !== '' && !FILE_NAME.test(file))
    row.error('bad-name', 'file', `${shown(file)} is not the name of a file in captures`);
  return file;
}

function isObject(text: string): boolean {
  try {
    const value: unknown = JSON.parse(text);
    return typeof value === 'object' && value !== null && !Array.isArray(value);
  } catch {
    return false;
  }
}

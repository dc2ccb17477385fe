/**
 * Captures in the forms of real exports, against what an independent reader found in them: expected.csv of the reference data,
 * whose notices (LICENCES.md) stay with the files. Extremes, instants and steps within 1e-6 of their size; the mean within 1e-6 of
 * the largest value, since it is the small difference of large ones, and half a unit of the sixth digit, to which it is printed.
 */
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import {
  HEAD_BYTES,
  kindOfCapture,
  type TextUnderstanding,
  type Trace,
  textReader,
  textUnderstanding,
} from '../../src/capture/index.ts';
import { referenceFolder, referenceTable } from './captures-folder.ts';

const FOLDER = referenceFolder('captures');

const ROWS = FOLDER === undefined ? [] : referenceTable(FOLDER, 'expected.csv');
const FILES = [...new Set(ROWS.map(({ file }) => file!))];

function understood(file: string, bytes: Uint8Array): TextUnderstanding {
  expect(kindOfCapture(bytes.subarray(0, HEAD_BYTES), file)).toBe('text');
  const { understanding, findings } = textUnderstanding(bytes.subarray(0, HEAD_BYTES), file);
  expect(findings).toEqual([]);
  return understanding!;
}

/** In pieces that end anywhere. */
function traces(file: string, bytes: Uint8Array, understanding: TextUnderstanding): readonly Trace[] {
  const reader = textReader(understanding, file);
  for (let at = 0; at < bytes.length; at += 1009) reader.push(bytes.subarray(at, at + 1009));
  const { capture, findings } = reader.end();
  expect(findings.filter(({ severity }) => severity === 'error')).toEqual([]);
  return capture!.traces;
}

function close(found: number, expected: string, scale = Math.abs(Number(expected))): void {
  expect(Math.abs(found - Number(expected)), `${found} for ${expected}`).toBeLessThanOrEqual(1e-6 * scale);
}

describe.skipIf(FOLDER === undefined)('captures of the reference data', () => {
  it.each(FILES)('%s reads as expected', (file) => {
    const bytes = readFileSync(join(FOLDER!, file));
    let understanding = understood(file, bytes);
    const rows = ROWS.filter((row) => row.file === file);
    const valuesOnly = rows[0]!.dt_s === '' && rows[0]!.t0_s === '';
    // The row states no interval: it is to be asked for.
    if (valuesOnly) {
      expect(understanding.interval).toBeUndefined();
      understanding = { ...understanding, interval: 1e-9 };
    }
    const found = traces(file, bytes, understanding);
    expect(found.length).toBe(rows.length);
    rows.forEach((row, i) => {
      const { name, timebase, values } = found[i]!;
      if (!row.channel!.startsWith('(')) expect(name).toBe(row.channel);
      const numbers = values.filter((value) => !Number.isNaN(value));
      const repeated = /the last line repeated: (\d+) distinct/.exec(row.note!)?.[1];
      expect(values.length).toBe(Number(repeated ?? row.samples));
      const held = /of which (\d+) hold a number/.exec(row.note!)?.[1];
      expect(numbers.length).toBe(Number(held ?? values.length));
      if (!valuesOnly) {
        if ('stamps' in timebase) throw new Error('the times are evenly spaced');
        close(timebase.start, row.t0_s!, Math.max(Math.abs(Number(row.t0_s)), Math.abs(timebase.step)));
        close(timebase.step, row.dt_s!);
      }
      const scale = Math.max(Math.abs(Number(row.min_v)), Math.abs(Number(row.max_v)));
      close(
        numbers.reduce((a, b) => Math.min(a, b)),
        row.min_v!,
      );
      close(
        numbers.reduce((a, b) => Math.max(a, b)),
        row.max_v!,
      );
      if (row.mean_v !== '') {
        const printed = 5 * Math.abs(Number(row.mean_v));
        close(numbers.reduce((a, b) => a + b) / numbers.length, row.mean_v!, scale + printed);
      }
    });
  });

  it('doubts are in words where a file contradicts itself or leaves something open', () => {
    const doubts = (file: string) => understood(file, readFileSync(join(FOLDER!, file))).doubts.join('; ');
    expect(doubts('made_timebase_header.csv')).toContain('the values reach 3320 V: millivolts?');
    expect(doubts('mit_a_sample2_CH1.csv')).toContain('does not agree with the interval in the heading');
    expect(doubts('mit_b_generated_square.csv')).toContain('does not agree with the interval in the heading');
    expect(doubts('bsd3_values_only_first1000.csv')).toContain('how long is a sample?');
    expect(doubts('mit_a_data.csv')).toContain('no unit is stated, taken to be seconds');
    expect(doubts('made_xaxis_2ch.csv')).toBe('');
  });

  it('what was reversed, dropped or out of range is reported', () => {
    const report = (file: string) => {
      const bytes = readFileSync(join(FOLDER!, file));
      const reader = textReader(understood(file, bytes), file);
      reader.push(bytes);
      return reader.end().findings.map(({ message }) => message);
    };
    expect(report('made_descending_and_duplicate_times.csv')).toEqual([
      'the times fall: the samples were put into rising order',
      '1 row with the time of the row before dropped, the first in line 1003',
    ]);
    expect(report('made_infinity_and_gaps.csv')).toEqual([
      '7 samples without a value (3 over the range, 2 under it)',
    ]);
  });
});

/** What a person corrected in an understanding: taken again for a later file, and checked before a file is read by it. */

import { MOST_SAMPLES, shown } from '../capture.ts';
import { type CaptureColumn, columnTitle, type TextUnderstanding } from './understanding.ts';

/**
 * The understanding of a new file as a person corrected that of an earlier one with the same signature: form, columns, probe factors
 * and offsets as kept; what each file states for itself (lines of the heading, start, interval, count) as it is in the new one.
 * An interval that was asked for then is taken again. Where the form is the same and the columns are more or fewer, the file
 * keeps its own understanding.
 */
export function asRemembered(fresh: TextUnderstanding, kept: TextUnderstanding): TextUnderstanding {
  const { separator, decimal, columns } = kept;
  const sameForm = fresh.separator === separator && fresh.decimal === decimal;
  if (sameForm && fresh.columns.length !== columns.length) return fresh;
  const interval = fresh.interval ?? kept.interval;
  return {
    ...fresh,
    // Where the heading ends was found by the form that the person corrected.
    headerLines: sameForm ? fresh.headerLines : kept.headerLines,
    separator,
    decimal,
    columns,
    ...(interval === undefined ? {} : { interval }),
  };
}

/** Faults of an understanding that a person corrected, in words; empty where a file can be read by it. */
export function understandingFaults(understanding: TextUnderstanding): string[] {
  const { columns, interval, start, separator, decimal, headerLines } = understanding;
  const faults: string[] = [];
  const of = (role: CaptureColumn['role']) => columns.filter((column) => column.role === role).length;
  if (of('channel') === 0) faults.push('no column is a channel');
  if (of('time') > 1) faults.push('more than one column is that of the times');
  if (of('time') === 0 && interval === undefined) {
    faults.push('the sample interval is missing: the file has no column of times');
  }
  if (of('time') === 0 && interval !== undefined && !(interval > 0 && interval < Infinity)) {
    faults.push(`a sample interval of ${interval} s; it must be above 0`);
  }
  if (!Number.isFinite(start)) faults.push(`a start of ${start} s is no number`);
  if (!(Number.isInteger(headerLines) && headerLines >= 0 && headerLines <= MOST_SAMPLES)) {
    faults.push(`${headerLines} lines of heading; a whole number belongs there`);
  }
  if (![',', ';', '\t', ' '].includes(separator)) faults.push(`separator ${shown(separator)} is not known`);
  if (!['.', ','].includes(decimal)) faults.push(`decimal sign ${shown(decimal)} is not known`);
  columns.forEach((column, i) => {
    if (column.role === 'skip') return;
    const scale = column.factor * column.probe;
    if (!Number.isFinite(scale) || scale === 0 || !Number.isFinite(column.offset)) {
      faults.push(
        `${columnTitle(column, i)}: factor ${column.factor}, probe ${column.probe}, offset ${column.offset}`,
      );
    }
  });
  return faults;
}

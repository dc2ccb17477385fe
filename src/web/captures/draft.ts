/** What a file is understood to hold, as a person corrects it: all as it is typed, and what is wrong with it, field by field. */

import { understandingFaults } from '../../capture/index.ts';
import type { UnderstandingView } from '../../server/index.ts';

export interface ColumnDraft {
  readonly role: UnderstandingView['columns'][number]['role'];
  readonly name: string;
  readonly unit: string;
  readonly factor: string;
  readonly probe: string;
  readonly offset: string;
  readonly point: string;
}

export interface Draft {
  readonly columns: readonly ColumnDraft[];
  readonly start: string;
  readonly interval: string;
  readonly headerLines: string;
}

export type FaultyField =
  | `${number}.${'role' | 'factor' | 'probe' | 'offset' | 'point'}`
  | 'interval'
  | 'start'
  | 'headerLines';

export interface Checked {
  /** By the field that has it. */
  readonly faults: ReadonlyMap<FaultyField, string>;
  /** Of the whole. */
  readonly others: readonly string[];
  /** Where there are no faults. */
  readonly understanding?: UnderstandingView;
  /** One for each channel. */
  readonly points: readonly string[];
}

/** @param points  what was typed before, by column */
export function draftOf(understanding: UnderstandingView, points: readonly string[] = []): Draft {
  return {
    columns: understanding.columns.map(({ role, name, unit, factor, probe, offset }, i) => ({
      role,
      name,
      unit,
      factor: String(factor),
      probe: String(probe),
      offset: String(offset),
      point: points[i] ?? '',
    })),
    start: String(understanding.start),
    interval: understanding.interval === undefined ? '' : String(understanding.interval),
    headerLines: String(understanding.headerLines),
  };
}

export function needsInterval({ columns }: Draft): boolean {
  return columns.every(({ role }) => role !== 'time');
}

/**
 * @param known  points of the machine
 */
export function checked(draft: Draft, understanding: UnderstandingView, known: ReadonlySet<string>): Checked {
  const faults = new Map<FaultyField, string>();
  const number = (
    field: FaultyField,
    text: string,
    allowed: (value: number) => boolean,
    what: string,
  ): number => {
    const value = numberOf(text);
    if (Number.isNaN(value))
      faults.set(field, `${text.trim() === '' ? 'nothing' : `“${text}”`} is no number`);
    else if (!allowed(value)) faults.set(field, what);
    return value;
  };
  const points: string[] = [];
  const columns = draft.columns.map((column, i) => {
    const { role, name, unit, point } = column;
    if (role === 'skip') return { ...understanding.columns[i]!, role };
    if (role === 'channel') {
      points.push(point.trim());
      if (point.trim() !== '' && !known.has(point.trim()))
        faults.set(`${i}.point`, 'no such point on this machine');
    }
    const factor = number(`${i}.factor`, column.factor, (value) => value !== 0, 'must not be 0');
    const probe = number(`${i}.probe`, column.probe, (value) => value > 0, 'must be above 0');
    const offset = number(`${i}.offset`, column.offset, () => true, '');
    return { role, name: name.trim(), unit: unit.trim(), factor, probe, offset };
  });
  const asked = needsInterval(draft);
  const start = asked ? number('start', draft.start, () => true, '') : understanding.start;
  const interval = asked
    ? number('interval', draft.interval, (value) => value > 0, 'must be above 0')
    : understanding.interval;
  const lines = number(
    'headerLines',
    draft.headerLines,
    (value) => Number.isInteger(value) && value >= 0,
    'a whole number, 0 or more',
  );
  const { interval: _, ...rest } = understanding;
  const whole: UnderstandingView = {
    ...rest,
    columns,
    start,
    headerLines: lines,
    ...(interval === undefined ? {} : { interval }),
  };
  const others = faults.size > 0 ? [] : understandingFaults(whole);
  return faults.size > 0 || others.length > 0
    ? { faults, others, points }
    : { faults, others, points, understanding: whole };
}

/** Point or comma, exponent, a prefix is not taken: `1e-3`, `0,001`. NaN for anything else. */
export function numberOf(text: string): number {
  const plain = text.trim().replace(',', '.').replace('−', '-');
  return /^[+-]?(\d+\.?\d*|\.\d+)(e[+-]?\d+)?$/i.test(plain) ? Number(plain) : Number.NaN;
}

import { shown } from '../finding.ts';
import type { Reading } from '../model.ts';
import { QUANTITIES, type Quantity, quantityOf } from '../quantity.ts';
import type { Sheet } from '../sheet.ts';
import { type NumberWish, numberText, type SheetRow } from '../sheet-row.ts';

const VOLTS: NumberWish = { unit: 'V', from: -100_000, to: 100_000, wanted: 'volts, not beyond 100 kV' };
const SECONDS: NumberWish = { unit: 's', from: 0, to: 1e9, wanted: 'seconds, not below 0' };

/** What is possible at all, by quantity. */
const VALUES: Readonly<Record<string, NumberWish>> = {
  V: VOLTS,
  ohm: { unit: 'Ω', from: 0, to: 1e15, wanted: 'ohms, not below 0' },
  high: VOLTS,
  low: VOLTS,
  average: VOLTS,
  Vpp: { unit: 'V', from: 0, to: 200_000, wanted: 'volts from peak to peak, not below 0' },
  width: SECONDS,
  period: SECONDS,
  Hz: { unit: 'Hz', from: 0, to: 1e12, wanted: 'hertz, not below 0' },
  rise: SECONDS,
  fall: SECONDS,
  delay: { unit: 's', from: -1e9, to: 1e9, wanted: 'seconds' },
  moves: { from: 0, to: 1, wanted: '1 where it moves, 0 where it stands still' },
  s: { unit: 's', from: -1e9, to: 1e9, wanted: 'seconds' },
};

const UNCERTAINTY: NumberWish = { from: 0, to: 1e15, wanted: 'a standard uncertainty, more than 0' };
/** What an empty uncertainty stands for, in words. */
const USUALLY: Readonly<Record<string, string>> = {
  V: '1 % of the reading plus 10 mV',
  volts: '3 % of the reading plus 30 mV',
  seconds: '3 % of the reading plus 20 ns',
  Hz: '3 % of the period plus 20 ns',
};

/** readings.csv: what was measured. Several readings of one thing are all kept. */
export const READINGS: Sheet<Reading> = {
  file: 'readings.csv',
  columns: [
    'unit',
    'condition',
    'point',
    'quantity',
    'value',
    'uncertainty',
    'taken_at',
    'ambient',
    'instrument',
    'note',
  ],
  required: ['unit', 'condition', 'point', 'quantity', 'value'],
  numeric: ['value', 'uncertainty', 'ambient'],
  read: reading,
  key: ({ unit, condition, point, quantity, value, takenAt }) =>
    `${unit}\n${condition}\n${point}\n${quantity}\n${value}\n${takenAt}`,
  cells: (r) => ({
    unit: r.unit,
    condition: r.condition,
    point: r.point,
    quantity: r.quantity,
    value: numberText(r.value),
    uncertainty: numberText(r.uncertainty),
    taken_at: r.takenAt,
    ambient: numberText(r.ambient),
    instrument: r.instrument,
    note: r.note,
  }),
};

function reading(row: SheetRow): Reading | undefined {
  const unit = row.needed('unit', 'the id of the unit that was read');
  const condition = row.needed('condition', 'the condition in which it was read');
  const point = row.needed('point', 'a net, or a pin BOARD/REF.pin');
  const name = row.needed('quantity', `one of ${QUANTITIES.join(', ')}`);
  const quantity = quantityOf(name);
  if (quantity === undefined && name !== '') {
    const meant = row.suggestion('unknown-word', name, QUANTITIES);
    row.error(
      'unknown-word',
      'quantity',
      `quantity ${shown(name)} is not known; it is one of ${QUANTITIES.join(', ')}${meant}`,
    );
  }
  row.needed('value', 'the value that was read');
  const value = quantity === undefined ? undefined : readValue(row, quantity);
  const unitOf = quantity?.unit;
  const uncertainty = row.number('uncertainty', {
    ...(unitOf === undefined ? {} : { unit: unitOf }),
    ...UNCERTAINTY,
  });
  if (uncertainty === 0) {
    const usually = USUALLY[name] ?? USUALLY[unitOf === 'V' ? 'volts' : 'seconds'];
    row.error(
      'out-of-range',
      'uncertainty',
      `no reading is without uncertainty; leave it empty for ${usually}`,
    );
  }
  if (quantity?.name === 'moves' && uncertainty !== undefined)
    row.warning(
      'unused',
      'uncertainty',
      'whether a point moves has no uncertainty in figures; it is not used',
    );
  const takenAt = moment(row);
  const ambient = row.number('ambient', ROOM);
  if (value === undefined || unit === '' || condition === '' || point === '') return undefined;
  return {
    unit,
    condition,
    point,
    quantity: quantity!.from === undefined ? name : `delay:${quantity!.from}`,
    value,
    uncertainty: uncertainty === 0 ? undefined : uncertainty,
    takenAt,
    ambient,
    instrument: row.name('instrument'),
    note: row.raw('note'),
  };
}

function readValue(row: SheetRow, { name }: Quantity): number | undefined {
  const value = row.number('value', VALUES[name]);
  if (name !== 'moves' || value === undefined || Number.isInteger(value)) return value;
  row.error('out-of-range', 'value', `a point moves or it does not: write ${VALUES.moves!.wanted}`);
  return undefined;
}

/** A room that a person and a machine of the period can be in. */
export const ROOM: NumberWish & { from: number; to: number } = {
  unit: '°C',
  from: -40,
  to: 70,
  wanted: 'a room temperature in °C, -40 to 70',
};

/** Extended forms of ISO 8601 calendar dates and times: a date, or date and time with or without seconds and zone. */
const ISO_8601 =
  /^\d{4}-\d\d(-\d\d([T ]([01]\d|2[0-3]):[0-5]\d(:([0-5]\d|60)([.,]\d+)?)?(Z|[+-]\d\d(:?\d\d)?)?)?)?$/;

/** The moment in a column, with a T between date and time; empty when there is none, or it is refused. */
export function moment(row: SheetRow, column = 'taken_at'): string {
  const text = row.text(column);
  if (text === '') return '';
  const days = ISO_8601.test(text) ? daysIn(Number(text.slice(0, 4)), Number(text.slice(5, 7))) : 0;
  const day = text.length < 10 ? 1 : Number(text.slice(8, 10));
  if (day >= 1 && day <= days) return text.replace(' ', 'T');
  row.error(
    'bad-date',
    column,
    `${shown(text)} is no ISO 8601 date; write 1968-05-14, or 1968-05-14T09:30 with the time`,
  );
  return '';
}

function daysIn(year: number, month: number): number {
  if (month === 2) return year % 4 === 0 && (year % 100 !== 0 || year % 400 === 0) ? 29 : 28;
  return [31, 0, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31][month - 1] ?? 0;
}

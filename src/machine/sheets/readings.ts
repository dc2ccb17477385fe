import { shown } from '../finding.ts';
import type { Reading } from '../model.ts';
import type { Sheet } from '../sheet.ts';
import { type NumberWish, numberText, type SheetRow } from '../sheet-row.ts';

/** The quantities that a reading can be of, with what is possible at all. */
const QUANTITIES: Readonly<Record<string, NumberWish>> = {
  V: { unit: 'V', from: -100_000, to: 100_000, wanted: 'volts, not beyond 100 kV' },
  ohm: { unit: 'Ω', from: 0, to: 1e15, wanted: 'ohms, not below 0' },
  Vpp: { unit: 'V', from: 0, to: 200_000, wanted: 'volts from peak to peak, not below 0' },
  s: { unit: 's', from: -1e9, to: 1e9, wanted: 'seconds' },
  Hz: { unit: 'Hz', from: 0, to: 1e12, wanted: 'hertz, not below 0' },
};

const UNCERTAINTY: NumberWish = { from: 0, to: 1e15, wanted: 'a standard uncertainty, more than 0' };
const UNCERTAINTIES: Readonly<Record<string, NumberWish>> = Object.fromEntries(
  Object.entries(QUANTITIES).map(([quantity, { unit }]) => [
    quantity,
    { ...(unit ? { unit } : {}), ...UNCERTAINTY },
  ]),
);

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
  const quantity = row.needed('quantity', `one of ${Object.keys(QUANTITIES).join(', ')}`);
  const wish = Object.hasOwn(QUANTITIES, quantity) ? QUANTITIES[quantity] : undefined;
  if (wish === undefined && quantity !== '') {
    const meant = row.suggestion('unknown-word', quantity, Object.keys(QUANTITIES));
    row.error(
      'unknown-word',
      'quantity',
      `quantity ${shown(quantity)} is not known; it is one of ${Object.keys(QUANTITIES).join(', ')}${meant}`,
    );
  }
  row.needed('value', 'the value that was read');
  const value = wish === undefined ? undefined : row.number('value', wish);
  const uncertainty = row.number('uncertainty', UNCERTAINTIES[quantity] ?? UNCERTAINTY);
  if (uncertainty === 0) {
    row.error(
      'out-of-range',
      'uncertainty',
      'no reading is without uncertainty; leave it empty for 1 % of the reading plus 10 mV',
    );
  }
  const takenAt = moment(row);
  const ambient = row.number('ambient', ROOM);
  if (value === undefined || unit === '' || condition === '' || point === '') return undefined;
  return {
    unit,
    condition,
    point,
    quantity,
    value,
    uncertainty: uncertainty === 0 ? undefined : uncertainty,
    takenAt,
    ambient,
    instrument: row.name('instrument'),
    note: row.raw('note'),
  };
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

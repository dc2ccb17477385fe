import { isRunning, type Machine, pointNet, quantityOf, rowFindings, suggestion } from '../machine/index.ts';
import { InputError } from './input-error.ts';
import type { Journal } from './journal.ts';
import type { NewReading, ReadingChoice, RecordReading } from './record-types.ts';
import { addRow } from './sheet-store.ts';
import { query, type Store } from './store.ts';

/** All readings that were ever taken, in the order in which they stand; see `RecordReading` for those that count no more. */
export function recordReadings(store: Store, machine: number, choice: ReadingChoice): RecordReading[] {
  let wanted = query.selectFrom('readings').selectAll().where('machine', '=', machine);
  for (const column of ['unit', 'condition', 'point'] as const) {
    const value = choice[column];
    if (value !== undefined) wanted = wanted.where(column, '=', value);
  }
  const rows = store.all(wanted.orderBy('position').orderBy('id'));
  const latest = new Map<string, { readonly id: number; readonly time: number }>();
  const keyOf = (row: (typeof rows)[number]): string =>
    [row.unit, row.condition, row.point, row.quantity].join('\n');
  for (const row of rows) {
    if (row.withdrawn !== null) continue;
    const time = moment(row.taken_at);
    const other = latest.get(keyOf(row));
    if (other === undefined || !(time < other.time)) latest.set(keyOf(row), { id: row.id, time });
  }
  return rows.map((row): RecordReading => {
    const { unit, condition, point, quantity, value, uncertainty, ambient, instrument, note } = row;
    return {
      ...{ id: row.id, unit, condition, point, quantity, value, uncertainty, ambient, instrument, note },
      takenAt: row.taken_at,
      superseded: row.withdrawn === null && latest.get(keyOf(row))?.id !== row.id,
      withdrawn: row.withdrawn !== null,
    };
  });
}

/**
 * Writes a reading down. @returns the row's id
 *
 * @param wiring  what it is held against; `undefined` when the machine cannot be read
 * @param now  ISO 8601
 * @throws InputError  when the row would be an error in readings.csv
 */
export function addReading(
  store: Store,
  journal: Journal,
  machine: number,
  reading: NewReading,
  wiring: Machine | undefined,
  now: string,
): number {
  const { unit, condition, point, quantity, value } = reading;
  const { uncertainty = '', ambient = '', instrument = '', note = '' } = reading;
  const taken_at = readingTime(store, machine, reading, now);
  const cells = {
    ...{ unit, condition, point, quantity, value },
    ...{ uncertainty, taken_at, ambient, instrument, note },
  };
  const wrong = rowFindings('readings.csv', cells).find(({ severity }) => severity === 'error');
  if (wrong !== undefined) throw new InputError(wrong.code, wrong.message);
  if (wiring !== undefined) {
    checkNames(wiring, reading);
    checkQuantity(wiring, reading);
  }
  return addRow(store, journal, machine, 'readings', cells);
}

/** @throws InputError  `no-reading` */
export function withdrawReading(store: Store, journal: Journal, machine: number, reading: number): void {
  const row = store.first(
    query.selectFrom('readings').select('withdrawn').where('id', '=', reading).where('machine', '=', machine),
  );
  if (row === undefined || row.withdrawn !== null)
    throw new InputError('no-reading', `there is no reading ${reading} that stands`);
  journal.withdraw('readings', reading);
}

/**
 * Holds names against the machine; those that are empty or left out are not asked for.
 *
 * @throws InputError  `unknown-unit`, `unknown-condition`, `unknown-point`
 */
export function checkNames(
  machine: Machine,
  { unit = '', condition = '', point = '' }: { unit?: string; condition?: string; point?: string },
): void {
  const units = machine.units.map(({ id }) => id);
  if (unit !== '' && !units.includes(unit)) {
    const near = suggestion(unit, units);
    throw new InputError('unknown-unit', `there is no unit ${JSON.stringify(unit)}${near}`);
  }
  const conditions = machine.conditions.map(({ name }) => name);
  if (condition !== '' && !conditions.includes(condition)) {
    const near = suggestion(condition, conditions);
    throw new InputError('unknown-condition', `there is no state ${JSON.stringify(condition)}${near}`);
  }
  if (point !== '' && pointNet(machine, point) === undefined) {
    const near = suggestion(
      point,
      machine.points.map((one) => one.point),
    );
    throw new InputError(
      'unknown-point',
      `there is no point ${JSON.stringify(point)}${near}; a point is a net, or a pin BOARD/REF.pin`,
    );
  }
}

/**
 * A level that stands still belongs to a static state, what a waveform tells to a running one.
 *
 * @throws InputError  `wrong-kind`; `unknown-point` for a delay from a point that is none
 */
function checkQuantity(machine: Machine, { quantity, condition }: NewReading): void {
  const of = quantityOf(quantity);
  const state = machine.conditions.find(({ name }) => name === condition);
  if (of === undefined || state === undefined) return;
  if (of.from !== undefined) checkNames(machine, { point: of.from });
  if (of.states === 'static' && isRunning(state))
    throw new InputError(
      'wrong-kind',
      `${quantity} is a level that stands still, and state ${condition} runs: take the average, or high and low`,
    );
  if (of.states === 'running' && !isRunning(state))
    throw new InputError(
      'wrong-kind',
      `${quantity} is told of a waveform, and nothing moves in state ${condition}`,
    );
}

/** Now; where a reading of the same point stands that says to be later, its time: a clock must not hide what was just read. */
function readingTime(
  store: Store,
  machine: number,
  { unit, condition, point, quantity }: NewReading,
  now: string,
): string {
  const standing = store.all(
    query
      .selectFrom('readings')
      .select('taken_at')
      .where('machine', '=', machine)
      .where('withdrawn', 'is', null)
      .where('unit', '=', unit)
      .where('condition', '=', condition)
      .where('point', '=', point)
      .where('quantity', '=', quantity),
  );
  return standing.reduce(
    (last, { taken_at }) => (moment(taken_at) > moment(last) ? taken_at : last),
    `${now.slice(0, 19)}Z`,
  );
}

/** Milliseconds since 1970 as the reckoning counts them: a time without a zone is taken as it stands. */
function moment(takenAt: string): number {
  const zoned = !/[T ]/.test(takenAt) || /(Z|[+-]\d\d(:?\d\d)?)$/i.test(takenAt);
  return Date.parse(zoned ? takenAt : `${takenAt}Z`);
}

import { type Machine, pointNet, type Reading } from '../machine/index.ts';
import { InputError } from '../records/index.ts';
import { type Desk, verdict } from '../workbench/index.ts';
import type { CompareView, ReadingSet } from './views.ts';

type Departures = Awaited<ReturnType<Desk['departures']>>;
type Row = CompareView['rows'][number];

/** Every set of readings that can be compared: each unit's as they stand, and each of its days. */
export function readingSets(machine: Machine): readonly ReadingSet[] {
  return machine.units.flatMap(({ id }) => {
    const own = machine.readings.filter(({ unit, quantity }) => unit === id && quantity === 'V');
    const days = [...new Set(own.map(dayOf))].filter((day) => day !== '').sort();
    const set = (date: string): ReadingSet => ({
      key: date === '' ? id : `${id}@${date}`,
      unit: id,
      date,
      readings: latest(own.filter((reading) => date === '' || dayOf(reading) === date)).length,
    });
    return days.length > 1 ? [set(''), ...days.map(set)] : [set('')];
  });
}

/**
 * The machine as if the left set were a healthy unit's and the right one another's, with no other reading: so the two are compared by
 * the same sum as two units are, and by nothing else.
 */
export function comparedMachine(machine: Machine, left: ReadingSet, right: ReadingSet): Machine {
  const as = (set: ReadingSet, unit: string): Reading[] => {
    const readings = readingsOfSet(machine, set);
    // A set is one visit, whenever it was read: what lies years back would else be the unit's past and not be judged.
    const takenAt =
      readings
        .map((one) => one.takenAt)
        .sort()
        .at(-1) ?? '';
    return readings.map((reading) => ({ ...reading, unit, takenAt }));
  };
  return {
    ...machine,
    units: [
      { id: LEFT, health: 'healthy' },
      { id: RIGHT, health: 'faulty' },
    ],
    readings: [...as(left, LEFT), ...as(right, RIGHT)],
  };
}
const LEFT = 'left';
export const RIGHT = 'right';

/** @throws InputError  `unknown-set` */
export function setNamed(sets: readonly ReadingSet[], key: string): ReadingSet {
  const set = sets.find((one) => one.key === key);
  if (set !== undefined) return set;
  const all = sets.map((one) => one.key).join(', ');
  throw new InputError('unknown-set', `there are no readings ${JSON.stringify(key)}; there are ${all}`);
}

/** @param departures  of `RIGHT` in the compared machine */
export function compareView(
  machine: Machine,
  revision: number,
  [left, right]: readonly [ReadingSet, ReadingSet],
  departures: Departures,
): CompareView {
  const rows = new Map<string, { -readonly [K in keyof Row]: Row[K] }>();
  const at = (state: string, point: string) => {
    const key = `${state}\n${point}`;
    const known = rows.get(key);
    if (known !== undefined) return known;
    const row = { state, point, left: null, right: null, expected: null, off: null, verdict: null };
    rows.set(key, row);
    return row as { -readonly [K in keyof Row]: Row[K] };
  };
  for (const { condition, point, value, takenAt } of readingsOfSet(machine, left)) {
    at(condition, point).left = { value, takenAt };
  }
  for (const { condition, point, value, takenAt } of readingsOfSet(machine, right)) {
    at(condition, point).right = { value, takenAt };
  }
  for (const { condition, point, expected, sigma, z } of departures) {
    if (!Number.isFinite(expected)) continue;
    Object.assign(at(condition, point), {
      expected: { value: expected, sigma },
      off: z,
      verdict: verdict(z),
    });
  }
  const states = machine.conditions.map(({ name }) => name);
  const points = machine.points.map(({ point }) => point);
  const place = (list: readonly string[], name: string): number => {
    const found = list.indexOf(name);
    return found < 0 ? list.length : found;
  };
  return {
    revision,
    left,
    right,
    sets: readingSets(machine),
    rows: [...rows.values()].sort(
      (a, b) =>
        place(states, a.state) - place(states, b.state) || place(points, a.point) - place(points, b.point),
    ),
  };
}

function readingsOfSet(machine: Machine, { unit, date }: ReadingSet): readonly Reading[] {
  return latest(
    machine.readings.filter(
      (reading) =>
        reading.unit === unit &&
        reading.quantity === 'V' &&
        (date === '' || dayOf(reading) === date) &&
        pointNet(machine, reading.point) !== undefined,
    ),
  );
}

/** The last reading of each point in each state. */
function latest(readings: readonly Reading[]): readonly Reading[] {
  const kept = new Map<string, Reading>();
  for (const reading of readings) {
    const key = `${reading.condition}\n${reading.point}`;
    const other = kept.get(key);
    if (other === undefined || !(Date.parse(reading.takenAt) < Date.parse(other.takenAt)))
      kept.set(key, reading);
  }
  return [...kept.values()];
}

function dayOf({ takenAt }: Reading): string {
  return takenAt.slice(0, 10);
}

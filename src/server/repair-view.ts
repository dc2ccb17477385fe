import { createHash } from 'node:crypto';
import type { Machine } from '../machine/index.ts';
import type { RecordReading } from '../records/index.ts';
import { type Desk, verdict } from '../workbench/index.ts';
import { readingView } from './bench-view.ts';
import type { RepairView } from './views.ts';

type Levels = Awaited<ReturnType<Desk['levels']>>;
type Row = RepairView['rows'][number];

/** Readings of a time, from after `from` to `until`; either may be a day, or empty for no limit. One without a date is of any time. */
export function readingsWithin(
  readings: readonly RecordReading[],
  from: string,
  until: string,
): readonly RecordReading[] {
  const [after, last] = [endOf(from), endOf(until)];
  return readings.filter(({ takenAt, withdrawn, quantity }) => {
    if (withdrawn || quantity !== 'V') return false;
    const at = Date.parse(takenAt);
    return Number.isNaN(at) || ((Number.isNaN(after) || at > after) && (Number.isNaN(last) || at <= last));
  });
}

/** Milliseconds at the end of a day, or of a moment; NaN for none. */
function endOf(date: string): number {
  return Date.parse(date.length === 10 ? `${date}T23:59:59.999Z` : date);
}

/**
 * Where a unit departed in a time, each point with its worst reading and with the last one.
 *
 * @param readings  of that unit and time
 * @param levels  what a sound unit would read there, by state
 */
export function repairRows(
  machine: Machine,
  readings: readonly RecordReading[],
  levels: ReadonlyMap<string, Levels>,
): readonly Row[] {
  const order = new Map(machine.points.map(({ point }, i) => [point, i]));
  return machine.conditions.flatMap(({ name: state }) => {
    const rows = (levels.get(state)?.levels ?? []).flatMap(({ point, sound, learnt }): Row[] => {
      if (sound === undefined) return [];
      const read = readings
        .filter((one) => one.condition === state && one.point === point)
        .flatMap((one) => {
          const { value } = readingView(one);
          if (value === null) return [];
          const off = (value - sound.value) / sound.sigma;
          return [{ id: one.id, value, takenAt: one.takenAt, off, verdict: verdict(off) }];
        })
        .sort((a, b) => moment(a.takenAt) - moment(b.takenAt) || a.id - b.id);
      const now = read.at(-1);
      const departed = read.reduce<typeof now>(
        (worst, one) =>
          one.verdict === 'departs' && Math.abs(one.off) > Math.abs(worst?.off ?? 0) ? one : worst,
        undefined,
      );
      return departed && now ? [{ state, point, sound, learnt, departed, now }] : [];
    });
    return rows.sort((a, b) => (order.get(a.point) ?? order.size) - (order.get(b.point) ?? order.size));
  });
}

function moment(takenAt: string): number {
  const at = Date.parse(takenAt);
  return Number.isNaN(at) ? Number.NEGATIVE_INFINITY : at;
}

/** Six hexadecimal digits of what a machine is made of; readings and repairs leave them as they are. */
export function descriptionMark({ readings: _, repairs: __, types, ...machine }: Machine): string {
  return createHash('sha256')
    .update(JSON.stringify([machine, [...types]]))
    .digest('hex')
    .slice(0, 6);
}

import type { Machine } from '../../machine/index.ts';
import {
  chosenCondition,
  compareUnit,
  type UnitComparison,
  type Verdict,
  verdict,
} from '../../workbench/index.ts';
import type { Call } from '../call.ts';
import { cautionLines } from '../cautions.ts';
import { placeWords, plural, spreadsOff } from '../numbers.ts';
import { column, stripTables } from '../strip-table.ts';
import { type Column, paragraphs } from '../table.ts';

type Departure = UnitComparison['departures'][number];

const DRAWING =
  'drawing: the healthy unit reads the same there, so the drawing is the suspect, not the unit.';

/** Rows that a person takes in; `--all` shows every reading. */
const MOST_ROWS = 30;

export async function compare(call: Call): Promise<void> {
  const machine = await call.machine();
  const condition = chosenCondition(machine, call.options.condition);
  const comparison = compareUnit(machine, call.options.unit);
  const departures = comparison.departures.filter(
    (one) => condition === undefined || one.condition === condition,
  );
  if (!call.options.json) return call.lines(comparisonLines(call, machine, { ...comparison, departures }));
  call.sayUnit(comparison);
  call.json({
    departures: departures.map(({ condition, point, quantity, value, expected, sigma, z }) => {
      return { condition, point, quantity, value, expected, sigma, z };
    }),
  });
}

export function comparisonLines(
  call: Call,
  machine: Machine,
  { unit, taken, departures }: UnitComparison,
): string[] {
  const twin = twinName(machine, unit.id);
  const beside = twin === undefined ? '' : `, beside ${twin}`;
  const head = call.wrap(`${machine.name}: ${unit.id} against what a sound unit would read${beside}.`);
  if (taken) head.push(...call.wrap(`${unit.id} is the only unit called faulty.`));
  if (departures.length === 0) {
    return [...head, ...call.wrap(`The folder has no reading of ${unit.id} that can be compared.`)];
  }
  const count: Record<Verdict, number> = { sound: 0, doubtful: 0, departs: 0 };
  for (const { z } of departures) count[verdict(z)]++;
  const readings = plural(departures.length, 'reading');
  const depart = `${count.departs} ${count.departs === 1 ? 'departs' : 'depart'}`;
  head.push(...call.wrap(`${readings}: ${depart}, ${count.doubtful} doubtful, ${count.sound} sound.`));

  const { all } = call.options;
  const wanted = all ? departures : departures.filter(({ z }) => verdict(z) !== 'sound');
  const shown = all ? wanted : wanted.slice(0, MOST_ROWS);
  const left = departures.length - shown.length;
  return paragraphs(
    head,
    stripTables(
      call,
      machine,
      shown,
      { healthy: twin, unit: unit.id },
      ({ expected, sigma, value, z, twin }) => ({ sound: expected, sigma, value, z, healthy: twin }),
      (rows) => columns(call, rows, unit.id, twin ?? ''),
    ),
    [
      ...(left > 0 ? call.wrap(`${plural(left, 'reading')} nearer to sound: --all shows them.`, '  ') : []),
      ...(shown.some(({ drawing }) => drawing) ? call.wrap(DRAWING, '  ') : []),
    ],
    cautionLines(call, machine, shown),
  );
}

function columns(call: Call, rows: readonly Departure[], unit: string, twin: string): Column[] {
  const { paint, figures } = call;
  const strong = ({ z }: Departure) => (verdict(z) === 'departs' ? paint.bold : undefined);
  const level = (value: number | undefined, { sigma, quantity }: Departure) =>
    figures.level(value, sigma, quantity);
  return [
    column('point', 'left', rows, placeWords, strong),
    column(unit, 'right', rows, (row) => level(row.value, row), strong),
    column(twin, 'right', rows, (row) => (row.twin === undefined ? '' : level(row.twin, row))),
    column('sound', 'right', rows, (row) => level(row.expected, row)),
    column('', 'left', rows, ({ sigma, quantity }) => figures.spread(sigma, quantity)),
    column('off', 'right', rows, ({ z }) => spreadsOff(z)),
    column(
      '',
      'left',
      rows,
      ({ z, drawing }) => (drawing ? `${verdict(z)}, drawing` : verdict(z)),
      ({ z }) => (verdict(z) === 'departs' ? paint.departs : undefined),
    ),
  ];
}

/** The healthy unit's name, if there is one besides; several stand together. */
function twinName(machine: Machine, unit: string): string | undefined {
  const twins = machine.units.filter(({ id, health }) => id !== unit && health === 'healthy');
  return twins.length === 0 ? undefined : twins.map(({ id }) => id).join('/');
}

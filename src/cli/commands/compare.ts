import type { Machine } from '../../machine/index.ts';
import { chosenCondition, compareUnit, type UnitComparison } from '../../workbench/index.ts';
import type { Call } from '../call.ts';
import { cautionLines } from '../cautions.ts';
import { stripKey } from '../level-strip.ts';
import { plural, spreadsOff } from '../numbers.ts';
import { column, stripTables } from '../strip-table.ts';
import { type Column, phraseLines } from '../table.ts';
import { type Verdict, verdict } from '../words.ts';

type Departure = UnitComparison['departures'][number];

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

function comparisonLines(
  call: Call,
  machine: Machine,
  { unit, taken, departures }: UnitComparison,
): string[] {
  const twin = twinName(machine, unit.id);
  const beside = twin === undefined ? '' : `, beside ${twin}`;
  const lines = call.wrap(`${machine.name}: ${unit.id} against what a sound unit would read${beside}.`);
  if (taken) lines.push(...call.wrap(`${unit.id} is the only unit called faulty.`));
  if (departures.length === 0) {
    return [...lines, ...call.wrap(`The folder has no reading of ${unit.id} that can be compared.`)];
  }
  const count: Record<Verdict, number> = { sound: 0, doubtful: 0, departs: 0 };
  for (const { z } of departures) count[verdict(z)]++;
  lines.push(
    ...call.wrap(
      `${plural(departures.length, 'reading')}: ${count.departs} ${count.departs === 1 ? 'departs' : 'depart'}, ${count.doubtful} doubtful, ${count.sound} sound.`,
    ),
  );

  const { all } = call.options;
  const wanted = all ? departures : departures.filter(({ z }) => verdict(z) !== 'sound');
  const shown = all ? wanted : wanted.slice(0, MOST_ROWS);
  lines.push(
    ...stripTables(
      call,
      machine,
      shown,
      ({ expected, sigma, value, z, twin }) => ({ sound: expected, sigma, value, z, healthy: twin }),
      (rows) => columns(call, rows, unit.id, twin ?? ''),
    ),
  );
  if (shown.length > 0) lines.push('', ...key(call, twin, unit.id));
  const left = wanted.length - shown.length;
  if (left > 0)
    lines.push(
      ...call.wrap(`${plural(left, 'smaller one')} and ${count.sound} sound: --all shows them.`, '  '),
    );
  else if (!all && count.sound > 0)
    lines.push(...call.wrap(`${plural(count.sound, 'sound reading')}: --all shows them.`, '  '));
  if (shown.some(({ drawing }) => drawing)) {
    lines.push(
      ...call.wrap(
        'drawing: the healthy unit reads the same there, so the drawing is the suspect, not the unit.',
        '  ',
      ),
    );
  }
  lines.push(...cautionLines(call, machine, shown));
  return lines;
}

function columns(call: Call, rows: readonly Departure[], unit: string, twin: string): Column[] {
  const { paint, figures } = call;
  const strong = ({ z }: Departure) => (verdict(z) === 'departs' ? paint.bold : undefined);
  const level = (value: number | undefined, { sigma, quantity }: Departure) =>
    figures.level(value, sigma, quantity);
  return [
    column('point', 'left', rows, ({ point }) => point, strong),
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

function key(call: Call, twin: string | undefined, unit: string): string[] {
  return phraseLines(stripKey(call.figures.unicode, twin, unit), call.terminal.columns).map(call.paint.quiet);
}

/** The healthy unit's name, if there is one besides; several stand together. */
function twinName(machine: Machine, unit: string): string | undefined {
  const twins = machine.units.filter(({ id, health }) => id !== unit && health === 'healthy');
  return twins.length === 0 ? undefined : twins.map(({ id }) => id).join('/');
}

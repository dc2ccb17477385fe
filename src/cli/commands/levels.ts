/** Levels by condition, as strips: of a sound unit, and under a fault. */

import { type Machine, pinNet } from '../../machine/index.ts';
import {
  expectationsOf,
  type Level,
  type Levels,
  soundLevels,
  verdict,
  type WhatIfLevel,
  whatIf,
} from '../../workbench/index.ts';
import type { Call } from '../call.ts';
import { cautionLines } from '../cautions.ts';
import { placeWords, plural, spreadsOff } from '../numbers.ts';
import { faultWords } from '../ranking.ts';
import { column, type StripRow, stripTables } from '../strip-table.ts';
import { type Column, paragraphs } from '../table.ts';

const MOST_ROWS = 40;
/** Modes of more or less. */
const GRADED = /^(high|leaky|low-gain|low-capacitance|slow)/;

export async function sound(call: Call): Promise<void> {
  const machine = await call.machine();
  const { condition, ambient } = call.options;
  const found = soundLevels(machine, { condition, ambient });
  if (call.options.json) return jsonLevels(call, found);
  call.lines(levelLines(call, machine, found, 'a sound unit'));
}

export async function expect(call: Call): Promise<void> {
  const { fault, condition, ambient } = call.options;
  if (fault === undefined) return sound(call);
  const machine = await call.machine();
  const found = expectationsOf(machine, { condition, fault, ambient });
  if (call.options.json) return jsonLevels(call, found);
  const colon = fault.indexOf(':');
  const words = faultWords(machine, fault.slice(0, colon), fault.slice(colon + 1));
  call.lines(levelLines(call, machine, found, `a unit with ${words}`));
}

export async function whatIfCommand(call: Call): Promise<void> {
  const machine = await call.machine();
  const { condition, fault, ambient } = call.options;
  if (call.options.json) return jsonLevels(call, expectationsOf(machine, { condition, fault, ambient }));
  call.lines(whatIfLines(call, machine, whatIf(machine, fault!, { condition, ambient })));
}

function jsonLevels(call: Call, { levels, noPoint }: Levels): void {
  for (const { condition } of noPoint) call.note(`no operating point found for "${condition}"`);
  call.json({
    // A point without an expectation has no number to give.
    expectations: levels
      .filter(({ value, sigma }) => Number.isFinite(value) && Number.isFinite(sigma))
      .map(({ condition, point, quantity, value, sigma }) => ({ condition, point, quantity, value, sigma })),
  });
}

function levelLines(call: Call, machine: Machine, found: Levels, subject: string): string[] {
  const known = found.levels.filter(({ value }) => Number.isFinite(value));
  const shown = call.options.all ? known : withoutRepeats(machine, known, ({ value }) => value);
  const unknown = found.levels.length - known.length;
  return paragraphs(
    [...call.wrap(`${machine.name}: what ${subject} would read.`), ...trouble(call, found)],
    machine.conditions.length === 0
      ? call.wrap('The folder has no conditions: without a stated state nothing can be computed.')
      : [],
    stripTables(
      call,
      machine,
      shown,
      {},
      ({ value, sigma, learnt }) => ({ sound: value, sigma, learnt }),
      (rows) => levelColumns(call, rows),
    ),
    [
      ...(shown.length < known.length
        ? call.wrap('Pins that read as their net are left out: --all shows them.', '  ')
        : []),
      ...(unknown > 0
        ? call.wrap(
            `${plural(unknown, 'level')} not known: not traced, and not read on a healthy unit.`,
            '  ',
          )
        : []),
    ],
    cautionLines(call, machine, shown),
  );
}

function levelColumns({ figures }: Call, rows: readonly Level[]): Column[] {
  return [
    column('point', 'left', rows, placeWords),
    column('reads', 'right', rows, ({ value, sigma, quantity }) => figures.level(value, sigma, quantity)),
    column('', 'left', rows, ({ sigma, quantity }) => figures.spread(sigma, quantity)),
    column('', 'left', rows, ({ learnt }) => (learnt ? 'from the healthy unit' : '')),
  ];
}

function whatIfLines(call: Call, machine: Machine, found: ReturnType<typeof whatIf>): string[] {
  const { part, mode } = found.fault;
  const { all } = call.options;
  const levels = all ? found.levels : withoutRepeats(machine, found.levels, ({ fault }) => fault);
  const moved = levels.filter(({ off }) => verdict(off) !== 'sound');
  const shown = all ? levels : moved.slice(0, MOST_ROWS);
  const left = levels.length - shown.length;
  return paragraphs(
    [
      ...call.wrap(
        `${machine.name}: what would be read with ${faultWords(machine, part, mode)}, against a sound unit.`,
      ),
      ...(GRADED.test(mode) ? call.wrap('A middle severity stands for this mode.') : []),
      ...trouble(call, found),
    ],
    moved.length === 0
      ? call.wrap('No point would leave its sound spread: this fault does not show in these states.')
      : [],
    stripTables(
      call,
      machine,
      shown,
      { unit: 'with the fault' },
      ({ sound, soundSigma: sigma, fault: value, off }) => {
        return { sound, sigma, value, z: value < sound ? -off : off };
      },
      (rows) => whatIfColumns(call, rows),
    ),
    left > 0 ? call.wrap(`${plural(left, 'level')} nearer to sound: --all shows them.`, '  ') : [],
    cautionLines(call, machine, shown),
  );
}

function whatIfColumns({ figures, paint }: Call, rows: readonly WhatIfLevel[]): Column[] {
  const strong = ({ off }: WhatIfLevel) => (verdict(off) === 'departs' ? paint.bold : undefined);
  return [
    column('point', 'left', rows, placeWords, strong),
    column('would', 'right', rows, (row) => figures.level(row.fault, row.faultSigma, row.quantity), strong),
    column('', 'left', rows, (row) => figures.spread(row.faultSigma, row.quantity)),
    column('sound', 'right', rows, (row) => figures.level(row.sound, row.soundSigma, row.quantity)),
    column('', 'left', rows, (row) => figures.spread(row.soundSigma, row.quantity)),
    column('off', 'right', rows, ({ off }) => spreadsOff(off)),
    column(
      '',
      'left',
      rows,
      ({ off }) => verdict(off),
      ({ off }) => (verdict(off) === 'departs' ? paint.departs : undefined),
    ),
  ];
}

/** States in which there is no answer, or not the state that was asked for. */
function trouble(call: Call, { noPoint, stateLost }: Pick<Levels, 'noPoint' | 'stateLost'>): string[] {
  const nets = (worst: Levels['noPoint'][number]['worst']): string =>
    worst.length === 0
      ? ''
      : `; currents do not add up at ${worst
          .slice(0, 3)
          .map(({ net }) => net)
          .join(', ')}`;
  return [
    ...noPoint.flatMap(({ condition, worst }) =>
      call.wrap(`No operating point found for "${condition}"${nets(worst)}.`),
    ),
    ...stateLost.flatMap((condition) =>
      call.wrap(`The state of "${condition}" does not hold: the levels are those it falls to.`),
    ),
  ];
}

/** Levels without the pins that read the same as their net does, a tenth of a millivolt aside. */
function withoutRepeats<L extends StripRow>(
  machine: Machine,
  levels: readonly L[],
  value: (level: L) => number,
): L[] {
  const key = ({ condition, quantity }: L, point: string): string =>
    JSON.stringify([condition, point, quantity]);
  const known = new Map(levels.map((level) => [key(level, level.point), value(level)]));
  return levels.filter((level) => {
    const net = pinNet(machine, level.point);
    const there = net === undefined ? undefined : known.get(key(level, net));
    return there === undefined || Math.abs(there - value(level)) > 1e-4;
  });
}

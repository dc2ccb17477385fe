/**
 * Tells how coarse the grids of severities are. For every two neighbouring severities of a fault in every state it looks at the net that
 * moves most between them. Where that is more than 1.5 V, the severity half way (in the logarithm) is solved, too: a level that
 * differs by more than 1.5 V from both neighbours is one that the grid does not know; otherwise the step is a switch
 * between two levels that both stand in the table. Prints the demo and the boards named, or all single ones of the tuning half.
 *
 *   npx tsx bench/severities.ts [--list] [BOARD …]
 *
 * `--list` names every severity between which a level is missing, the state and the net.
 */
import { tideGauge } from '../demo/machine/index.ts';
import { CircuitSolver, type Edit } from '../src/circuit/index.ts';
import { faultTable, tableShare } from '../src/diagnosis/index.ts';
import type { Fault } from '../src/faults/index.ts';
import type { Machine } from '../src/machine/index.ts';
import { BOARD_NAMES, trialBoard } from './accuracy/boards/index.ts';

const STEP_VOLTS = 1.5;
const lists = process.argv.includes('--list');

/** The severity half way between two neighbours that change the same elements. */
function between(a: Edit, b: Edit): Edit {
  const mean = (x: number, y: number): number => Math.sqrt(x * y);
  return {
    ...(a.conductance && {
      conductance: a.conductance.map((c, i) => ({
        ...c,
        siemens: mean(c.siemens, b.conductance![i]!.siemens),
      })),
    }),
    ...(a.bridge && {
      bridge: a.bridge.map((c, i) => ({ ...c, siemens: mean(c.siemens, b.bridge![i]!.siemens) })),
    }),
    ...(a.gain && {
      gain: a.gain.map((g, i) => ({ ...g, factor: mean(g.factor, b.gain![i]!.factor) })),
    }),
  };
}

function report(name: string, machine: Machine): void {
  const table = faultTable(machine, [tableShare(machine, 0, 1, undefined, true)]);
  const solver = new CircuitSolver(table.netlist);
  solver.setParts(undefined, table.ambient);
  const kinds = new Map<string, { steps: number; coarse: number; missed: number }>();
  const total = { steps: 0, coarse: 0, missed: 0 };
  table.faults.forEach(({ fault, hypothesis }, f) => {
    const before = table.faults[f - 1];
    if (before?.hypothesis !== hypothesis) return;
    // The two tracks of a trimmer are two faults, not two severities.
    if (fault.edit.conductance?.some((c) => c.siemens === 0)) return;
    const kind = `${table.netlist.parts.get(fault.part)!.kind} ${fault.mode.replace(/(-[bce]+|:.*)$/, '')}`;
    const own = kinds.get(kind) ?? { steps: 0, coarse: 0, missed: 0 };
    kinds.set(kind, own);
    table.conditions.forEach((condition, c) => {
      if (!table.known(f - 1, c) || !table.known(f, c)) return;
      const volts = (fault: number): Float64Array => {
        const all = table.sound[c]!.volts.slice();
        table.moved(fault, c, (net, v) => {
          all[net] = v;
        });
        return all;
      };
      const one = volts(f - 1);
      const two = volts(f);
      const apart = (x: Float64Array, y: Float64Array, net: number): boolean =>
        Math.abs(x[net]! - y[net]!) > STEP_VOLTS;
      own.steps++;
      total.steps++;
      if (!one.some((_, net) => apart(one, two, net))) return;
      own.coarse++;
      total.coarse++;
      const middle = solver.solve(condition, {
        edit: between((before.fault as Fault).edit, fault.edit),
        start: one,
      });
      const net = one.findIndex((_, net) => apart(one, middle.volts, net) && apart(two, middle.volts, net));
      if (!middle.converged || net < 0) return;
      if (lists) {
        const levels = [one, middle.volts, two].map((volts) => volts[net]!.toFixed(2)).join(', ');
        console.log(
          `${fault.part} ${fault.mode} ${before.fault.severity} to ${fault.severity}, ${condition.name}: ${table.netlist.nets[net]} ${levels} V`,
        );
      }
      own.missed++;
      total.missed++;
    });
  });
  const share = (count: number, of: number): string => `${((100 * count) / of).toFixed(1)} %`.padStart(7);
  const line = (what: string, { steps, coarse, missed }: typeof total): string =>
    `${what.padEnd(24)}${String(steps).padStart(7)} steps${share(coarse, steps)} over ${STEP_VOLTS} V${share(missed, steps)} with a level between`;
  console.log(line(`${name}, ${table.solves} solves`, total));
  for (const [kind, count] of [...kinds].sort((a, b) => b[1].missed - a[1].missed))
    if (count.missed > 0) console.log(line(`  ${kind}`, count));
}

const named = process.argv.slice(2).filter((word) => word !== '--list');
report('demo', tideGauge());
for (const board of named.length > 0 ? named : BOARD_NAMES.tuning.filter((b) => !b.startsWith('MANY')))
  report(board, trialBoard(board).machine);

import { CircuitSolver, netlistOf, type Pattern, SparseLU } from '../../src/circuit/index.ts';
import type { Machine } from '../../src/machine/index.ts';
import { generator, type Network } from './networks.ts';

/** The matrices that the solver really meets on its way to a machine's operating points, `count` of them. */
export function solvedNetwork(name: string, machine: Machine, count: number): Network {
  const solver = new CircuitSolver(netlistOf(machine));
  const met = new Map<Pattern, Float64Array[]>();
  const refactor = SparseLU.prototype.refactor;
  SparseLU.prototype.refactor = function () {
    const regular = refactor.call(this);
    const { pattern } = this.symbolic;
    if (regular) met.set(pattern, [...(met.get(pattern) ?? []), this.values.slice()]);
    return regular;
  };
  for (const condition of machine.conditions) solver.solve(condition);
  SparseLU.prototype.refactor = refactor;
  const [pattern, all] = [...met].sort((a, b) => b[1].length - a[1].length)[0]!;
  const random = generator(1);
  const steps = Array.from({ length: count }, (_, step) => ({
    values: all[Math.floor((step * all.length) / count)]!,
    b: Float64Array.from({ length: pattern.n }, () => 0.01 * (random() - 0.5)),
  }));
  const condition = machine.conditions.find((c) => solver.structure(c).pattern === pattern)!;
  const { transistorSlots } = solver.structure(condition);
  const entries = pattern.column.length;
  const elements = Array.from({ length: transistorSlots.length / 9 }, (_, transistor) =>
    [...transistorSlots.subarray(9 * transistor, 9 * transistor + 9)].filter((slot) => slot < entries),
  );
  return { name, pattern, steps, elements };
}

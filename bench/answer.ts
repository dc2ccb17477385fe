/**
 * From a changed, an added or a withdrawn reading to new suspects and the next reading, with the demo's fault table in memory and a
 * reckoning of the readings before. Prints the machine, medians and 95th percentiles, with the readings of an evening (some 30 of the
 * faulty unit) and with all points of both units in all states, for each scenario; and what a first answer takes.
 *
 * Yardstick of the same run: Cholesky factorisation of a dense matrix of 300 by a general-purpose library (ml-matrix). Limit: 50 ms at
 * the 95th percentile. Where others use the machine, the processor time says more than the clock.
 */
import { cpus } from 'node:os';
import { CholeskyDecomposition, Matrix } from 'ml-matrix';
import { demoMachine } from '../demo/readings.ts';
import { SCENARIOS } from '../demo/scenarios.ts';
import { type FaultTable, faultTable, Reckoning, tableKey, tableShare } from '../src/diagnosis/index.ts';
import type { Machine } from '../src/machine/index.ts';

const LIMIT_MS = 50;
const CHANGES = 24;
const DENSE = 300;

function quantile(numbers: readonly number[], p: number): number {
  return [...numbers].sort((a, b) => a - b)[Math.min(numbers.length - 1, Math.floor(p * numbers.length))]!;
}

function milliseconds(work: () => void): number {
  const start = performance.now();
  work();
  return performance.now() - start;
}

const tables = new Map<string, FaultTable>();
function tableOf(machine: Machine): FaultTable {
  const key = tableKey(machine);
  const known = tables.get(key);
  if (known) return known;
  const table = faultTable(machine, [tableShare(machine, 0, 1, undefined, true)]);
  tables.set(key, table);
  return table;
}

interface Times {
  readonly suspects: number;
  readonly next: number;
  readonly processor: number;
}

/** Readings after one of the unit's has been changed, taken again, withdrawn or, withdrawn before, taken. */
function afterChange(readings: Machine['readings'], at: number, change: number): Machine['readings'][] {
  const one = readings[at]!;
  const other = { ...one, value: one.value * 1.02 + 0.003 * change };
  const without = readings.filter((_, k) => k !== at);
  switch (change % 3) {
    case 0:
      return [readings.map((r, k) => (k === at ? other : r))];
    case 1:
      return [without];
    default:
      return [without, [...without, other]];
  }
}

/** What an answer takes after each of some changes to one reading of the south unit, one upon the other; and the first answer. */
function answers(machine: Machine, table: FaultTable): { first: number; times: Times[] } {
  let reckoning = new Reckoning(machine, table, 'south');
  const first = milliseconds(() => {
    reckoning = new Reckoning(machine, table, 'south');
    reckoning.diagnosis();
    reckoning.next();
  });
  // Of the last visit: what was read before the unit failed is not what a person at the bench changes.
  const south = [...machine.readings.keys()].filter((k) => machine.readings[k]!.unit === 'south');
  const last = south
    .map((k) => machine.readings[k]!.takenAt.slice(0, 10))
    .sort()
    .at(-1);
  const places = south.filter((k) => machine.readings[k]!.takenAt.startsWith(last!));
  const times: Times[] = [];
  for (let change = 0; change < CHANGES; change++) {
    const at = places[Math.floor(((change + 0.5) * places.length) / CHANGES)]!;
    // Each from the same readings: a person withdraws a test, too.
    let from = reckoning;
    const steps = afterChange(machine.readings, at, change);
    for (const before of steps.slice(0, -1)) from = from.withReadings(before);
    from.next();
    const processor = process.cpuUsage();
    let after = from;
    const suspects = milliseconds(() => {
      after = from.withReadings(steps.at(-1)!);
      after.diagnosis();
    });
    const next = milliseconds(() => after.next());
    const { user, system } = process.cpuUsage(processor);
    times.push({ suspects, next, processor: (user + system) / 1000 });
  }
  return { first, times };
}

console.log(`${cpus()[0]?.model.trim()}, ${cpus().length} cores, Node ${process.version}`);
const dense = Matrix.rand(DENSE, DENSE);
const positive = dense.mmul(dense.transpose()).add(Matrix.eye(DENSE));
const yardstick = quantile(
  Array.from({ length: 21 }, () => milliseconds(() => new CholeskyDecomposition(positive))),
  0.5,
);
console.log(`dense Cholesky of ${DENSE} by ml-matrix: median ${yardstick.toFixed(1)} ms`);

const extents = [
  ['an evening', 'evening'],
  ['all points in all states', 'all'],
] as const;
for (const [name, extent] of extents) {
  console.log(`\n${name}; ms, suspects and next reading together`);
  const all: Times[] = [];
  const both = (times: readonly Times[]): number[] => times.map((t) => t.suspects + t.next);
  for (const scenario of SCENARIOS) {
    const machine = demoMachine({ scenario, extent });
    const table = tableOf(machine);
    const { first, times } = answers(machine, table);
    all.push(...times);
    console.log(
      `  ${scenario.name.padEnd(24)} ${String(machine.readings.length).padStart(5)} readings, first answer ${first.toFixed(0)}; ${times.length} changes  median ${quantile(both(times), 0.5).toFixed(0)}, most ${Math.max(...both(times)).toFixed(0)}`,
    );
  }
  const worst = quantile(both(all), 0.95);
  const processor = all.map((t) => t.processor);
  console.log(
    `  95th percentile of ${all.length}: ${worst.toFixed(0)} ms (limit ${LIMIT_MS}), ${(worst / yardstick).toFixed(1)} times the yardstick; median ${quantile(both(all), 0.5).toFixed(0)} ms; processor time ${quantile(processor, 0.5).toFixed(0)} ms, 95th percentile ${quantile(processor, 0.95).toFixed(0)} ms`,
  );
}

/**
 * From a changed reading to new suspects and the next reading, with the demo's fault table in memory. Prints the machine, medians and
 * 95th percentiles, with the readings of an evening (some 30 of the faulty unit) and with all points of both units in all states, for
 * each scenario.
 *
 * Yardstick of the same run: Cholesky factorisation of a dense matrix of 300 by a general-purpose library (ml-matrix). Limit: 50 ms at
 * the 95th percentile.
 */
import { cpus } from 'node:os';
import { CholeskyDecomposition, Matrix } from 'ml-matrix';
import { demoMachine } from '../demo/readings.ts';
import { SCENARIOS } from '../demo/scenarios.ts';
import { type FaultTable, faultTable, Reckoning, tableKey, tableShare } from '../src/diagnosis/index.ts';
import type { Machine } from '../src/machine/index.ts';

const LIMIT_MS = 50;
const CHANGES = 12;
/** Fewer changes when a scenario takes longer than this. */
const BUDGET_MS = 10_000;
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
  const table = faultTable(machine, [tableShare(machine, 0, 1)]);
  tables.set(key, table);
  return table;
}

/** What an answer takes after each of some changes to one reading of the south unit. */
function answers(machine: Machine, table: FaultTable): { suspects: number[]; next: number[] } {
  const places = [...machine.readings.keys()].filter((k) => machine.readings[k]!.unit === 'south');
  const suspects: number[] = [];
  const next: number[] = [];
  const end = performance.now() + BUDGET_MS;
  for (let change = 0; change < CHANGES && (change === 0 || performance.now() < end); change++) {
    const at = places[Math.floor(((change + 0.5) * places.length) / CHANGES)]!;
    const readings = machine.readings.map((r, k) =>
      k === at ? { ...r, value: r.value * 1.02 + 0.003 * change } : r,
    );
    const changed = { ...machine, readings };
    let reckoning: Reckoning | undefined;
    suspects.push(
      milliseconds(() => {
        reckoning = new Reckoning(changed, table, 'south');
        reckoning.diagnosis();
      }),
    );
    next.push(milliseconds(() => reckoning!.next()));
  }
  return { suspects, next };
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
  console.log(`\n${name}; ms: suspects and next reading together, and each`);
  const all: number[] = [];
  for (const scenario of SCENARIOS) {
    const machine = demoMachine({ scenario, extent });
    const table = tableOf(machine);
    if (extent === 'evening') answers(machine, table);
    const { suspects, next } = answers(machine, table);
    const both = suspects.map((ms, k) => ms + next[k]!);
    all.push(...both);
    console.log(
      `  ${scenario.name.padEnd(24)} ${String(machine.readings.length).padStart(5)} readings, ${suspects.length} answers  median ${quantile(both, 0.5).toFixed(0)}, most ${Math.max(...both).toFixed(0)}; suspects ${quantile(suspects, 0.5).toFixed(0)}, next ${quantile(next, 0.5).toFixed(0)}`,
    );
  }
  const worst = quantile(all, 0.95);
  console.log(
    `  95th percentile of ${all.length}: ${worst.toFixed(0)} ms (limit ${LIMIT_MS}), ${(worst / yardstick).toFixed(1)} times the yardstick; median ${quantile(all, 0.5).toFixed(0)} ms`,
  );
}

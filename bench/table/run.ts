/**
 * Computes fault tables: of the demo whole, by one thread and by two, and of generated boards of 20 to 1,000 transistors. Prints the
 * machine, seconds, solves, Newton steps a solve, which aid each solve needed, and how the time grows.
 *
 * Yardstick of the same run: refactorisation and solve of the whole network once for each of the table's solves, which
 * is what a program would need that had to factor only once a fault. Limits of the project: 3 s for each 80 transistors x
 * 10 states x 1,000 hypotheses (aim 1 s); 8 steps a solve, 12 on boards that hold state; two threads 1.7 times as fast; growth n^1.5.
 */
import { existsSync } from 'node:fs';
import { cpus } from 'node:os';
import { fileURLToPath } from 'node:url';
import { MessageChannel, Worker } from 'node:worker_threads';
import { tideGauge } from '../../demo/machine/index.ts';
import { CircuitSolver, netlistOf, SparseLU } from '../../src/circuit/index.ts';
import { faultTable, type TableShare, tableShare } from '../../src/diagnosis/index.ts';
import { faultHypotheses } from '../../src/faults/index.ts';
import { isRunning, type Machine } from '../../src/machine/index.ts';
import { generatedBoard } from './generated-board.ts';

const RUNS = 3;
const SIZES = [20, 50, 100, 200, 500, 1000];
/** Large boards are computed in part: about so many transistors' worth of faults. */
const SAMPLE = 40;
const STATES = 10;
const AIDS = ['none', 'state', 'shunts', 'sources', 'transient'];
const WORKER = new URL('../../dist/workbench/fault-table-worker.js', import.meta.url);

function median(numbers: readonly number[]): number {
  return [...numbers].sort((a, b) => a - b)[numbers.length >> 1]!;
}

function seconds(work: () => void): number {
  const start = performance.now();
  work();
  return (performance.now() - start) / 1000;
}

/** Seconds for refactorisation and solve of the machine's whole network, every value moved. */
function systemSeconds(machine: Machine): number {
  const solver = new CircuitSolver(netlistOf(machine));
  const { symbolic } = solver.structure(machine.conditions[0]!);
  const lu = new SparseLU(symbolic);
  const { n, rowStart, column } = symbolic.pattern;
  const b = new Float64Array(n);
  const rounds = Math.ceil(20_000 / n);
  const pass = (): void => {
    for (let round = 0; round < rounds; round++) {
      for (let i = 0; i < n; i++)
        for (let e = rowStart[i]!; e < rowStart[i + 1]!; e++)
          lu.values[e] = column[e] === i ? 10 + 1e-3 * round : -1e-3 * (1 + (round & 7));
      if (!lu.refactor()) throw new Error('a pivot failed');
      b.fill(1e-3);
      lu.solve(b);
    }
  };
  pass();
  return median(Array.from({ length: 9 }, () => seconds(pass))) / rounds;
}

interface Count {
  readonly solves: number;
  readonly steps: number;
  readonly aids: readonly number[];
}

function inWords({ solves, steps, aids }: Count): string {
  const named = AIDS.map((name, k) => `${name} ${aids[k]}`).join(', ');
  return `${solves} solves, ${(steps / solves).toFixed(2)} steps a solve; aids: ${named}`;
}

/** In units of 80 transistors x 10 states x 1,000 hypotheses. */
function units(machine: Machine): number {
  const transistors = machine.parts.filter((p) => p.kind === 'transistor').length;
  return (
    ((transistors / 80) * (machine.conditions.length / 10) * faultHypotheses(netlistOf(machine)).length) /
    1000
  );
}

console.log(
  `${cpus()[0]?.model.trim()}, ${cpus().length} cores, Node ${process.version}; medians of ${RUNS}`,
);

// The states that stand still; those that run have bench/running.ts.
const gauge = tideGauge();
const demo = { ...gauge, conditions: gauge.conditions.filter((c) => !isRunning(c)) };
const netlist = netlistOf(demo);
const hypotheses = faultHypotheses(netlist);
const faults = hypotheses.reduce((sum, h) => sum + h.faults.length, 0);
console.log(
  `demo: ${netlist.transistors.length} transistors, ${demo.conditions.length} states, ${hypotheses.length} hypotheses (${faults} with their severities), ${units(demo).toFixed(2)} units of 80 x 10 x 1,000`,
);
let whole: TableShare | undefined;
const took = Array.from({ length: RUNS }, () =>
  seconds(() => {
    whole = tableShare(demo, 0, 1);
  }),
);
const own = median(took);
const system = systemSeconds(demo);
console.log(inWords({ ...whole!, aids: [...whole!.aids] }));
console.log(
  `one thread: ${own.toFixed(2)} s (first ${took[0]!.toFixed(2)} s), ${(own / units(demo)).toFixed(2)} s a unit (limit 3, aim 1); ${((1e6 * own) / whole!.solves).toFixed(1)} µs a solve, ${(own / whole!.solves / system).toFixed(1)} times one refactorisation and solve (${(1e6 * system).toFixed(1)} µs)`,
);
console.log(`table kept: ${(faultTable(demo, [whole!]).toBytes().length / 1048576).toFixed(1)} MB`);

/** Wall seconds for `shares` threads of the built program, each with its share; threads start before the clock. */
async function threadSeconds(shares: number): Promise<number> {
  const workers = Array.from(
    { length: shares },
    () =>
      new Worker(
        `const { parentPort } = require('node:worker_threads');
         import(${JSON.stringify(WORKER.href)}).then(({ default: compute }) => {
           parentPort.on('message', (task) => parentPort.postMessage(compute(task)));
           parentPort.postMessage('ready');
         });`,
        { eval: true },
      ),
  );
  const answers = (): Promise<unknown[]> =>
    Promise.all(
      workers.map(
        (w) =>
          new Promise((resolve, reject) => {
            w.once('message', resolve);
            w.once('error', reject);
          }),
      ),
    );
  await answers();
  const start = performance.now();
  const done = answers();
  workers.forEach((w, share) => {
    const progress = new MessageChannel().port2;
    w.postMessage({ machine: demo, share, shares, progress }, [progress]);
  });
  await done;
  const spent = (performance.now() - start) / 1000;
  await Promise.all(workers.map((w) => w.terminate()));
  return spent;
}

if (existsSync(fileURLToPath(WORKER))) {
  const one: number[] = [];
  const two: number[] = [];
  for (let run = 0; run < RUNS; run++) {
    one.push(await threadSeconds(1));
    two.push(await threadSeconds(2));
  }
  const faster = median(one.map((t, k) => t / two[k]!));
  console.log(
    `worker threads of the built program: one ${median(one).toFixed(2)} s, two ${median(two).toFixed(2)} s, ${faster.toFixed(2)} times as fast (limit 1.7)`,
  );
} else console.log('worker threads: not measured, the program is not built (npm run build)');

console.log(`\ngenerated boards of ${STATES} states; large ones in part, scaled to the whole`);
console.log(
  ['transistors', 'unknowns', 'hypotheses', 'seconds', 's a unit', 'µs a solve', 'systems', 'steps']
    .map((title) => title.padStart(11))
    .join(''),
);
const growth: [number, number][] = [];
for (const size of SIZES) {
  const machine = generatedBoard(size, STATES, size);
  const shares = Math.max(1, Math.round(size / SAMPLE));
  let share: TableShare | undefined;
  const times = Array.from({ length: size > 200 ? 1 : RUNS }, () =>
    seconds(() => {
      share = tableShare(machine, 0, shares);
    }),
  );
  // What every share computes for itself, the sound points, counts once for the whole.
  const fixed =
    shares === 1 ? 0 : seconds(() => tableShare(machine, machine.parts.length, machine.parts.length + 1));
  const scaled = fixed + (median(times) - fixed) * shares;
  growth.push([size, scaled]);
  const solver = new CircuitSolver(netlistOf(machine));
  console.log(
    [
      size,
      solver.structure(machine.conditions[0]!).netOf.length,
      faultHypotheses(solver.netlist).length,
      scaled.toFixed(2),
      (scaled / units(machine)).toFixed(2),
      ((1e6 * (median(times) - fixed)) / share!.solves).toFixed(1),
      ((median(times) - fixed) / share!.solves / systemSeconds(machine)).toFixed(1),
      (share!.steps / share!.solves).toFixed(2),
    ]
      .map((cell) => String(cell).padStart(11))
      .join(''),
  );
  console.log(`            ${inWords({ ...share!, aids: [...share!.aids] })}`);
}
const logs = growth.map(([size, time]) => [Math.log(size), Math.log(time)] as const);
const mean = (k: 0 | 1): number => logs.reduce((sum, pair) => sum + pair[k], 0) / logs.length;
const [mx, my] = [mean(0), mean(1)];
const slope =
  logs.reduce((sum, [x, y]) => sum + (x - mx) * (y - my), 0) /
  logs.reduce((sum, [x]) => sum + (x - mx) ** 2, 0);
const [small, large] = [growth[0]!, growth.at(-1)!];
console.log(
  `growth: n^${slope.toFixed(2)} by least squares, n^${(Math.log(large[1] / small[1]) / Math.log(large[0] / small[0])).toFixed(2)} from ${small[0]} to ${large[0]} transistors (limit n^1.5)`,
);

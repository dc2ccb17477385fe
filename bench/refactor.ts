/**
 * Refactorisation and solve of one sparse system against KLU, on the same matrices with values that move from
 * step to step. Run with `npx tsx bench/refactor.ts`.
 */
import { cpus } from 'node:os';
import { tideGauge } from '../demo/machine/index.ts';
import { residual, SparseLU, SparseLUPair, symbolicFactor } from '../src/circuit/matrix/index.ts';
import { kluDriver } from './klu/klu.ts';
import { logicNetwork, type Network, randomNetwork } from './klu/networks.ts';
import { solvedNetwork } from './klu/solved-network.ts';

const STEPS = 20;
const REPEATS = 15;
/** Ours and KLU's take turns, so that whatever else the machine does falls on both. */
const ROUNDS = 7;
const NETWORKS: (() => Network)[] = [
  () => solvedNetwork('demo, as solved', tideGauge(), STEPS),
  ...[8, 20, 50, 100, 200, 400, 830].map((gates) => () => logicNetwork(gates, 20, gates, STEPS)),
  ...[50, 200, 500, 1500, 5000].map((n) => () => randomNetwork(n, 5, 6, n, STEPS)),
  ...[200, 1000].map((n) => () => randomNetwork(n, 5, 60, n, STEPS)),
];

function median(numbers: number[]): number {
  return numbers.sort((a, b) => a - b)[numbers.length >> 1]!;
}

/** Median nanoseconds a call of `pass` takes for one of its `STEPS` systems. */
function timed(pass: () => void, calls: number): number {
  const times: number[] = [];
  for (let repeat = 0; repeat < REPEATS; repeat++) {
    const begin = performance.now();
    for (let call = 0; call < calls; call++) pass();
    times.push(((performance.now() - begin) * 1e6) / (calls * STEPS));
  }
  return median(times);
}

/** Runs `pass` until it is compiled; returns how many calls take some hundredths of a second. */
function warmedUp(pass: () => void): number {
  const end = performance.now() + 400;
  let passes = 0;
  for (; performance.now() < end; passes++) pass();
  return Math.max(1, Math.round(passes / 100));
}

const klu = kluDriver();
console.log(`${cpus()[0]?.model ?? 'unknown processor'}, ${cpus().length} cores, Node ${process.version}`);
console.log(typeof klu === 'string' ? `KLU is absent: ${klu}` : 'KLU: refactor and solve, its defaults');
console.log(
  'Medians, microseconds for one system; `paired` is one of two taken together, `local` has one element changed',
);
console.log('`residual` is the backward error, `apart` the largest difference from KLU’s answer\n');
console.log(
  [
    'network'.padEnd(20),
    'n',
    'entries',
    'factors',
    'KLU’s',
    'residual',
    'apart',
    'µs',
    'KLU µs',
    'ratio',
    'paired',
    'ratio',
    'local',
  ]
    .map((title) => title.padStart(9))
    .join(''),
);
const ratios: number[] = [];
for (const make of NETWORKS) {
  const { name, pattern, steps, elements } = make();
  const symbolic = symbolicFactor(pattern);
  const lu = new SparseLU(symbolic);
  const x = new Float64Array(pattern.n);
  const pass = () => {
    for (const { values, b } of steps) {
      lu.values.set(values);
      if (!lu.refactor()) throw new Error(`${name}: a pivot failed`);
      x.set(b);
      lu.solve(x);
    }
  };
  const pair = new SparseLUPair(symbolic);
  const interleaved = steps.map((step, index) => {
    const other = steps[(index + 1) % STEPS]!;
    const both = (a: Float64Array, b: Float64Array) =>
      Float64Array.from({ length: 2 * a.length }, (_, i) => (i % 2 === 0 ? a : b)[i >> 1]!);
    return { values: both(step.values, other.values), b: both(step.b, other.b) };
  });
  const xPair = new Float64Array(2 * pattern.n);
  const passPair = () => {
    for (const { values, b } of interleaved) {
      pair.values.set(values);
      if (!pair.refactor()) throw new Error(`${name}: a pivot failed`);
      xPair.set(b);
      pair.solve(xPair);
    }
  };
  const passLocal = () => {
    for (const [index, { b }] of steps.entries()) {
      const element = elements[Math.floor(((index + 0.5) * elements.length) / STEPS)]!;
      for (const entry of element) lu.values[entry]! *= 1 + 1e-9;
      if (!lu.refactor()) throw new Error(`${name}: a pivot failed`);
      x.set(b);
      lu.solve(x);
    }
  };
  const calls = warmedUp(pass);
  const local = timed(passLocal, warmedUp(passLocal));
  const paired = timed(passPair, warmedUp(passPair)) / 2;

  const last = steps.at(-1)!;
  const ours: number[] = [];
  const theirs: number[] = [];
  const quotients: number[] = [];
  let factorEntries = 0;
  let difference = 0;
  for (let round = 0; round < ROUNDS; round++) {
    ours.push(timed(pass, calls));
    if (typeof klu === 'string') continue;
    const result = klu(pattern, steps, calls * REPEATS);
    if (typeof result === 'string') throw new Error(`${name}: ${result}`);
    factorEntries = result.factorEntries;
    theirs.push(result.nanoseconds);
    quotients.push(ours.at(-1)! / result.nanoseconds);
    const scale = Math.max(...x.map(Math.abs));
    difference = Math.max(...result.x.map((value, i) => Math.abs(value - x[i]!) / scale));
  }
  const known = quotients.length > 0;
  if (known) ratios.push(median(quotients));
  console.log(
    [
      name.padEnd(20),
      pattern.n,
      pattern.column.length,
      symbolic.factorEntries,
      known ? factorEntries : '-',
      residual(pattern, last.values, x, last.b).toExponential(0),
      known ? difference.toExponential(0) : '-',
      (median(ours) / 1000).toFixed(2),
      known ? (median(theirs) / 1000).toFixed(2) : '-',
      known ? median(quotients).toFixed(2) : '-',
      (paired / 1000).toFixed(2),
      known ? (paired / median(theirs)).toFixed(2) : '-',
      (local / 1000).toFixed(2),
    ]
      .map((cell) => String(cell).padStart(9))
      .join(''),
  );
}
if (ratios.length > 0)
  console.log(`\nmedian ratio ${median(ratios).toFixed(2)}, largest ${ratios.at(-1)!.toFixed(2)}`);

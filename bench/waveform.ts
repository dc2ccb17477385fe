/**
 * Measures 10 million samples. Prints the machine, medians and the ratio to one plain pass that only adds the same samples.
 *
 * Limit: 1 s for the measurement of 10 million samples.
 */
import { cpus } from 'node:os';
import { measurement, type Trace } from '../src/waveform/index.ts';

const RUNS = 7;

function medianMs(work: () => void): number {
  const times = Array.from({ length: RUNS }, () => {
    const start = performance.now();
    work();
    return performance.now() - start;
  });
  return times.sort((a, b) => a - b)[RUNS >> 1]!;
}

/** A stated generator, so that every run has the same samples. */
function generator(seed: number): () => number {
  let state = seed >>> 0;
  return () => {
    state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
    return state / 2 ** 32 - 0.5;
  };
}

/** Pulses of random bits, `cell` samples a bit, edges of a tenth of it, noise of 1 % of the swing, in steps of 1/200 of it. */
function bits(samples: number, cell: number, seed: number): Trace {
  const [random, noise] = [generator(seed), generator(seed + 1)];
  const values = new Float32Array(samples);
  let [from, to] = [0, 0];
  for (let i = 0; i < samples; i++) {
    if (i % cell === 0) [from, to] = [to, random() > 0 ? 1 : 0];
    const v = from + (to - from) * Math.min(1, (i % cell) / (cell / 10));
    values[i] = -12 + 12 * (Math.round(200 * (v + 0.035 * noise())) / 200);
  }
  return { name: 'A', unit: 'V', timebase: { start: -1e-3, step: 1e-7 }, values };
}

function report(what: string, ms: number, limit: number, yardstick: string, base: number): void {
  const verdict = ms <= limit ? 'met' : 'NOT met';
  console.log(
    `${what}: median ${ms.toFixed(1)} ms of ${RUNS} (limit ${limit}: ${verdict}); ${yardstick}: ${base.toFixed(1)} ms; ratio ${(ms / base).toFixed(1)}`,
  );
}

console.log(`${cpus()[0]?.model.trim()}, ${cpus().length} cores, Node ${process.version}`);
let kept = 0;
function sum(values: Float32Array): void {
  let total = 0;
  for (let i = 0; i < values.length; i++) total += values[i]!;
  kept += total;
}

for (const cell of [1000, 100, 20]) {
  const long = bits(10_000_000, cell, 1);
  const pass = medianMs(() => sum(long.values));
  const count = measurement(long).edges.count;
  const ms = medianMs(() => measurement(long));
  report(`measurement of 10 million samples, ${count} edges`, ms, 1000, 'one plain sum', pass);
}
if (Number.isNaN(kept)) throw new Error('the samples do not add up');

/**
 * Measures 10 million samples, aligns two traces of a million, and draws a pair of 10 million. Prints the machine, medians and the
 * ratio to one plain pass that only adds the same samples.
 *
 * Limits: 1 s for a measurement, 200 ms for an alignment, 1 s for a comparison (our own goal), a sixtieth of a second for the columns of a pair.
 */
import { cpus } from 'node:os';
import {
  alignByCorrelation,
  alignByEdges,
  comparison,
  edgesOf,
  measurement,
  Pyramid,
  type Trace,
} from '../src/waveform/index.ts';

const RUNS = 7;

interface Time {
  /** Milliseconds by the clock on the wall, and of a processor (more where others keep it busy, or its threads work at once). */
  readonly wall: number;
  readonly processor: number;
}

function medianTime(work: () => void): Time {
  const times = Array.from({ length: RUNS }, () => {
    const [start, used] = [performance.now(), process.cpuUsage()];
    work();
    const { user, system } = process.cpuUsage(used);
    return { wall: performance.now() - start, processor: (user + system) / 1000 };
  });
  const median = (values: number[]): number => values.sort((a, b) => a - b)[RUNS >> 1]!;
  return {
    wall: median(times.map(({ wall }) => wall)),
    processor: median(times.map(({ processor }) => processor)),
  };
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

function report(what: string, time: Time, limit: number, base: Time, times = 1): void {
  const [wall, processor] = [time.wall / times, time.processor / times];
  const verdict = wall <= limit ? 'met' : 'NOT met';
  console.log(
    `${what}: median ${wall.toFixed(1)} ms of ${RUNS} (limit ${limit.toFixed(0)}: ${verdict}), ${processor.toFixed(1)} ms of a processor; one plain sum ${base.wall.toFixed(1)} ms; ratio ${(wall / base.wall).toFixed(1)}`,
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
  const pass = medianTime(() => sum(long.values));
  const count = measurement(long).edges.count;
  const time = medianTime(() => measurement(long));
  report(`measurement of 10 million samples, ${count} edges`, time, 1000, pass);
}

/** The same bits again, `shift` samples later and with a clock `rate` times as slow; its own noise. */
function twin(of: Trace, shift: number, rate: number, seed: number): Trace {
  const noise = generator(seed);
  const values = of.values.map((_, i) => {
    const p = (i - shift) / rate;
    const j = Math.floor(p);
    const v =
      j < 0 || j + 1 >= of.values.length
        ? -12
        : of.values[j]! + (of.values[j + 1]! - of.values[j]!) * (p - j);
    return v + 0.2 * noise();
  });
  return { ...of, values };
}

for (const cell of [1000, 100, 20]) {
  const first = bits(1_000_000, cell, 2);
  const pass = medianTime(() => sum(first.values));
  for (const rate of [1, 1.003]) {
    const second = twin(first, 12_345.25, rate, 9);
    const options = rate === 1 ? {} : { rate: 0.01 };
    const align = () => alignByCorrelation(first, second, options);
    const aligned = align();
    const truth = -1e-3 + 12_345.25 * 1e-7 + rate * 1e-3;
    const off = 'reason' in aligned ? Number.NaN : (aligned.map.offset - truth) / 1e-7;
    report(
      `alignment of 2 x 1 million samples, ${cell} a bit, rate ${rate}, off by ${off.toFixed(3)} samples`,
      medianTime(align),
      200,
      pass,
    );
  }
  const other = twin(first, 12_345.25, 1, 9);
  const map = { offset: -1e-3 + 12_345.25e-7 + 1e-3, rate: 1 };
  report(
    `comparison of 2 x 1 million samples, ${cell} a bit`,
    medianTime(() => comparison(first, other, { map })),
    1000,
    pass,
  );
  const [a, b] = [edgesOf(first), edgesOf(other)];
  report(
    `alignment by ${a.count} and ${b.count} edges`,
    medianTime(() => alignByEdges(a, b)),
    200,
    pass,
  );
}

const pair = [bits(10_000_000, 100, 5), bits(10_000_000, 100, 6)];
const pass = medianTime(() => sum(pair[0]!.values));
const built = medianTime(() => pair.map((trace) => new Pyramid(trace)));
console.log(
  `two pyramids of 10 million samples: median ${built.wall.toFixed(0)} ms; ratio ${(built.wall / pass.wall / 2).toFixed(1)} a trace`,
);
const pyramids = pair.map((trace) => new Pyramid(trace));
const [begin, whole] = [-1e-3, 1];
for (const share of [1, 0.3, 0.01, 0.0003]) {
  let frame = 0;
  const time = medianTime(() => {
    for (let n = 0; n < 20; n++) {
      const from = begin + ((frame++ * 0.37) % 1) * (1 - share) * whole;
      for (const pyramid of pyramids) pyramid.columns(from, from + share * whole, 2000);
    }
  });
  report(`columns of a pair, 2000 wide, ${share} of the whole`, time, 1000 / 60, pass, 20);
}
if (Number.isNaN(kept)) throw new Error('the samples do not add up');

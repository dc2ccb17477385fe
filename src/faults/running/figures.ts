/** What is told of a waveform, as numbers in a row: what a reading of a running state can be of. */
import { type Edges, edgesOf, type Trace } from '../../waveform/index.ts';

/** The numbers of a row, in order; delays follow from the edges behind them. */
export const FIGURES = ['high', 'low', 'average', 'Vpp', 'width', 'period', 'rise', 'fall'] as const;
export type Figure = (typeof FIGURES)[number];
/** The first edges that are kept of a waveform: their mid instants. */
const EDGES = 8;
/** Length of a row. NaN where a waveform has no such thing: no edge, one level. */
export const ROW = FIGURES.length + EDGES;

/** Figures of a row that are in volts. */
const VOLTS = 4;
/** A waveform that moves by less has one level and no edges, volts: noise of the meter and of the steps. */
export const LEAST_SWING = 0.05;

/** Writes the figures of a waveform into `row` from `at` on. */
export function writeFigures(
  instants: Float64Array,
  volts: Float64Array,
  row: Float32Array,
  at: number,
): void {
  row.fill(Number.NaN, at, at + ROW);
  let low = Infinity;
  let high = -Infinity;
  for (const v of volts) {
    if (v < low) low = v;
    if (v > high) high = v;
  }
  if (!(high >= low)) return;
  if (high - low < LEAST_SWING) {
    const level = averageOf(instants, volts);
    row[at] = level;
    row[at + 1] = level;
    row[at + 2] = level;
    row[at + 3] = high - low;
    return;
  }
  const levels = levelsOf(instants, volts, low, high);
  row[at] = levels.high;
  row[at + 1] = levels.low;
  row[at + 2] = averageOf(instants, volts);
  row[at + 3] = high - low;
  const trace: Trace = {
    ...{ name: '', unit: 'V', timebase: { stamps: instants } },
    values: Float32Array.from(volts),
  };
  writeEdges(edgesOf(trace, { quantum: 0, levels, hysteresis: HYSTERESIS }), row, at);
}

/** Of the waveform's swing: what does not pass the middle by so much is no edge. */
const HYSTERESIS = 0.1;

function writeEdges({ mid, begin, end, rising, count }: Edges, row: Float32Array, at: number): void {
  const mean = { width: [0, 0], period: [0, 0], rise: [0, 0], fall: [0, 0] };
  const add = (sum: number[], seconds: number): void => {
    if (Number.isNaN(seconds)) return;
    sum[0]! += seconds;
    sum[1]! += 1;
  };
  let lead = Number.NaN;
  for (let i = 0; i < count; i++) {
    add(rising[i] === 1 ? mean.rise : mean.fall, end[i]! - begin[i]!);
    if (rising[i] === 1) {
      add(mean.period, mid[i]! - lead);
      lead = mid[i]!;
    } else add(mean.width, mid[i]! - lead);
    if (i < EDGES) row[at + FIGURES.length + i] = mid[i]!;
  }
  [mean.width, mean.period, mean.rise, mean.fall].forEach(([sum, n], k) => {
    row[at + VOLTS + k] = n! > 0 ? sum! / n! : Number.NaN;
  });
}

const BINS = 200;
/** Bins beside the mode that its level is the mean of. */
const NEAR = 3;
/** A level is one where the waveform is so many times as long as it would be on a ramp; else its end stands for it. */
const RESTS = 3;

/**
 * The levels between which a waveform moves: the modes of the lower and the upper half of its values, each value weighted with the
 * time that is spent there. The samples of the solver stand close where the waveform is steep, so that counting them would not do.
 *
 * @source IEEE Std 181-2011, 5.2.1, histogram split in halves, mode of each (clause as cited by makers' handbooks)
 */
function levelsOf(
  instants: Float64Array,
  volts: Float64Array,
  low: number,
  high: number,
): { low: number; high: number } {
  const seconds = new Float64Array(BINS);
  const voltSeconds = new Float64Array(BINS);
  const width = (high - low) / BINS;
  const bin = (v: number): number => Math.max(0, Math.min(BINS - 1, Math.floor((v - low) / width)));
  for (let i = 1; i < instants.length; i++) {
    const dt = instants[i]! - instants[i - 1]!;
    const [a, b] = [bin(volts[i - 1]!), bin(volts[i]!)];
    const [first, last] = a < b ? [a, b] : [b, a];
    const each = dt / (last - first + 1);
    for (let k = first; k <= last; k++) {
      seconds[k]! += each;
      voltSeconds[k]! += each * (first === last ? (volts[i - 1]! + volts[i]!) / 2 : low + (k + 0.5) * width);
    }
  }
  const half = BINS / 2;
  const whole = instants[instants.length - 1]! - instants[0]!;
  const level = (from: number, end: number): number => {
    let top = from;
    for (let k = from; k < from + half; k++) if (seconds[k]! > seconds[top]!) top = k;
    if (seconds[top]! * BINS < RESTS * whole && !restsShortly(seconds, top, from, half)) return end;
    let [sum, weight] = [0, 0];
    for (let k = Math.max(from, top - NEAR); k <= Math.min(from + half - 1, top + NEAR); k++) {
      sum += voltSeconds[k]!;
      weight += seconds[k]!;
    }
    return sum / weight;
  };
  return { low: level(0, low), high: level(half, high) };
}

/** A short pulse rests long against its own edges only. */
function restsShortly(seconds: Float64Array, top: number, from: number, half: number): boolean {
  let sum = 0;
  for (let k = from; k < from + half; k++) sum += seconds[k]!;
  return seconds[top]! * half > RESTS * sum;
}

/** Of straight lines between the samples. */
function averageOf(instants: Float64Array, volts: Float64Array): number {
  const n = instants.length;
  if (n < 2) return volts[0] ?? Number.NaN;
  let sum = 0;
  for (let i = 1; i < n; i++) sum += (instants[i]! - instants[i - 1]!) * (volts[i]! + volts[i - 1]!);
  return sum / (2 * (instants[n - 1]! - instants[0]!));
}

/**
 * A quantity as readings.csv names it, from the rows of its point and, of a delay, of the point that it counts from: the mean of
 * the delays from each edge there to the next one here, before there comes another. NaN where there is none. `moves` is peak to peak.
 */
export function figureOf(quantity: string, row: Float32Array, from?: Float32Array): number {
  if (quantity === 'Hz') return 1 / row[FIGURES.indexOf('period')]!;
  if (quantity === 'moves') return row[FIGURES.indexOf('Vpp')]!;
  if (!quantity.startsWith('delay:')) return row[FIGURES.indexOf(quantity as Figure)] ?? Number.NaN;
  if (from === undefined) return Number.NaN;
  let sum = 0;
  let count = 0;
  for (let i = FIGURES.length; i < ROW && !Number.isNaN(from[i]!); i++) {
    const start = from[i]!;
    const until = i + 1 < ROW && !Number.isNaN(from[i + 1]!) ? from[i + 1]! : Infinity;
    let k = FIGURES.length;
    while (k < ROW && row[k]! < start) k++;
    if (k === ROW || Number.isNaN(row[k]!) || !(row[k]! < until)) continue;
    // Behind the last edge that is kept there may be others: what follows it is not known.
    if (until === Infinity && i === ROW - 1) break;
    sum += row[k]! - start;
    count++;
  }
  return count > 0 ? sum / count : Number.NaN;
}

/** By how much the figures of two rows may differ, volts; of times a share and some nanoseconds; edges by a share of their own duration. */
interface Slack {
  readonly volts: number;
  readonly share: number;
  readonly edge: number;
}
const SECONDS = 5e-9;

/** Whether two rows tell of the same waveform, but for the noise of the steps. */
export function sameFigures(a: Float32Array, b: Float32Array): boolean {
  return within(a, b, { volts: 0.02, share: 0.02, edge: 0.05 });
}

/** Whether what lies between the waveforms of two rows lies between their figures. */
export function nearFigures(a: Float32Array, b: Float32Array): boolean {
  return within(a, b, { volts: 0.6, share: 0.2, edge: 1.5 });
}

function within(a: Float32Array, b: Float32Array, { volts, share, edge }: Slack): boolean {
  const [rise, fall] = [a[FIGURES.indexOf('rise')]!, a[FIGURES.indexOf('fall')]!];
  const seconds = Math.min(Number.isNaN(rise) ? fall : rise, Number.isNaN(fall) ? rise : fall);
  const slack = SECONDS + (Number.isNaN(seconds) ? 0 : edge * seconds);
  for (let i = 0; i < ROW; i++) {
    const [x, y] = [a[i]!, b[i]!];
    if (Number.isNaN(x) !== Number.isNaN(y)) return false;
    if (Number.isNaN(x)) continue;
    const most = i < VOLTS ? volts : i < FIGURES.length ? share * Math.abs(x) + SECONDS : slack;
    if (Math.abs(x - y) > most) return false;
  }
  return true;
}

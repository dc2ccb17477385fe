/** State levels: the values at which a waveform rests, by the histogram method of the pulse standard. */

import type { Estimate, Measured } from './estimate.ts';
import { extent, type TimeWindow } from './extent.ts';
import {
  coarser,
  type Extremes,
  extremes,
  type Histogram,
  histogram,
  medianDistance,
  middle,
} from './histogram.ts';
import { quantum } from './quantum.ts';
import type { Trace } from './trace.ts';

/** Bins of the histogram whose modes are sought: the root of the number of samples, within these. */
const FEWEST_BINS = 16;
const MOST_BINS = 256;
/** Fewer are not smoothed. */
const FEW_BINS = 32;
/** Two levels are two if they are so many standard deviations of both, added in squares, apart. */
const SEPARATION = 3;
/** Below this the samples follow a course; white noise has 2. */
const COURSE_ROUGHNESS = 0.2;
/** A step up and down of so few steps of the resolution, as rough as this, is noise. */
const FEW_STEPS = 3;
const ROUGH = 0.5;
/** A state holds at least this share of the samples. */
const SMALLEST_SHARE = 0.01;
/** A state counts as held as long as another from this share of its samples on. */
const HELD_AS_LONG = 0.5;
/** More states than these are not told apart. */
const MOST_STATES = 64;
/** The valley beside a state's peak is lower than this share of it. */
const VALLEY = 0.5;
/** Samples of the next step of the resolution that belong to a quiet level, as a share of its own. */
const BESIDE_SHARE = 0.1;
/** Standard deviation over median distance, of a Gaussian. */
const MEDIAN_DISTANCE = 1.4826;

/** A state of the waveform: its level, and how the samples in it vary. */
export interface State extends Measured {
  /** Standard deviation of a sample in the state. */
  readonly noise: number;
}

export interface StateLevels {
  /**
   * `histogram`: modes of the lower and upper half of the range. `extremes`: the waveform rests nowhere (a ramp, a triangle), so
   * that its ends stand for levels. `given`: handed in. `one level`: it does not move by more than its noise. `nothing`: no samples.
   */
  readonly method: 'histogram' | 'extremes' | 'given' | 'one level' | 'nothing';
  readonly low: Estimate;
  readonly high: Estimate;
  /** High less low. */
  readonly amplitude: Estimate;
  /** Every state that holds at least a hundredth of the samples, rising: two, or the steps of a staircase; one if only one. */
  readonly states: readonly State[];
  /** Standard deviation of a sample about its state. */
  readonly noise: number;
  /** Step of the instrument's resolution; 0 where none is seen. */
  readonly quantum: number;
  /** Least and greatest sample; NaN without samples. */
  readonly minimum: number;
  readonly maximum: number;
  /** Samples that are numbers. */
  readonly count: number;
}

export interface LevelOptions {
  readonly window?: TimeWindow;
  /** Levels that are known, say from the healthy unit; `low` below `high`. */
  readonly levels?: { readonly low: number; readonly high: number };
  /** Step of the resolution, where the instrument's is known. */
  readonly quantum?: number;
}

/** A stretch of values, of which a state's samples are taken. */
interface Band {
  readonly from: number;
  readonly to: number;
  readonly centre: number;
  readonly sigma: number;
}

/**
 * @throws RangeError  when given levels are not numbers in rising order
 * @source IEEE Std 181-2011, 5.2.1: histogram split in halves, mode of each (clause as cited by makers' handbooks); the refinement of
 *   the modes and the test for one level only are ours
 */
export function stateLevels(trace: Trace, options: LevelOptions = {}): StateLevels {
  const { begin, end } = extent(trace, options.window);
  const { values } = trace;
  const ends = extremes(values, begin, end);
  const { minimum, maximum, count } = ends;
  const step = options.quantum ?? quantum(values, begin, end);
  const common = { quantum: step, minimum, maximum, count };
  if (count === 0) {
    const none: Estimate = { reason: 'no samples' };
    const nothing = { ...common, minimum: Number.NaN, maximum: Number.NaN, noise: 0, states: [] };
    return { ...nothing, method: 'nothing', low: none, high: none, amplitude: none };
  }
  if (minimum === maximum && !options.levels) {
    const level = { value: minimum, uncertainty: step / Math.sqrt(12), count, noise: 0 };
    return { ...common, ...oneLevel(level) };
  }
  if (options.levels) {
    const { low, high } = options.levels;
    if (!(low < high))
      throw new RangeError(`levels ${low} and ${high}: the low one must be below the high one`);
    return { ...common, ...pair('given', low, high, courseNoise(values, begin, end), count, step) };
  }

  const fine = histogram(values, begin, end, ends);
  const raw = binned(fine, ends, step);
  const coarse = raw.counts.length < FEW_BINS ? raw : smoothed(raw);
  const half = (minimum + maximum) / 2;
  const visits = (own: number, beside: number): number => visitsBeside(values, begin, end, own, beside, step);
  const about = (bin: number): Band => band(fine, coarse, bin, minimum, maximum, step, visits);
  const tops = peaks(coarse);
  // The modes of the halves; or, where one state lies across the middle and is the mode of both, the outermost peaks.
  const pairs = [
    [mode(raw, half, -1), mode(raw, half, 1)],
    [Math.min(...tops), Math.max(...tops)],
  ] as const;
  const parted = pairs
    .filter(([below, above]) => below < above)
    .map(([below, above]) => {
      const between = coarse.start + ((below + above + 1) / 2) * coarse.width;
      return [
        band(fine, coarse, below, minimum, between, step, visits),
        band(fine, coarse, above, between, maximum, step, visits),
      ] as const;
    })
    .find(
      ([below, above]) =>
        above.centre - below.centre > SEPARATION * Math.hypot(below.sigma, above.sigma) &&
        !(above.centre - below.centre <= FEW_STEPS * step && ends.roughness > ROUGH),
    );
  if (parted === undefined) {
    if (ends.roughness < COURSE_ROUGHNESS && maximum - minimum > FEW_STEPS * step) {
      const noise = courseNoise(values, begin, end);
      return { ...common, ...pair('extremes', minimum, maximum, noise, count, step) };
    }
    const all = { from: minimum, to: maximum, centre: half, sigma: 0 };
    return { ...common, ...oneLevel(inBands(values, begin, end, fine, [all], step)[0]!) };
  }
  const [low, high] = parted;
  const bands = [low, high, ...tops.map(about)]
    .filter(({ from, to }, i, all) => i < 2 || all.slice(0, i).every((own) => to < own.from || from > own.to))
    .slice(0, MOST_STATES);
  const all = inBands(values, begin, end, fine, bands, step);
  const states = all
    .filter((state, i) => i < 2 || state.count >= SMALLEST_SHARE * count)
    .sort((a, b) => a.value - b.value);
  // Of states that are held about as long the outermost: the ends of a staircase.
  const lowState = states.find(({ count }) => count >= HELD_AS_LONG * all[0]!.count)!;
  const highState = states.findLast(({ count }) => count >= HELD_AS_LONG * all[1]!.count)!;
  const weight = lowState.count + highState.count;
  return {
    ...common,
    method: 'histogram',
    low: measured(lowState),
    high: measured(highState),
    amplitude: difference(highState, lowState),
    states,
    noise: Math.sqrt(
      (lowState.count * lowState.noise ** 2 + highState.count * highState.noise ** 2) / weight,
    ),
  };
}

function measured({ value, uncertainty, count }: Measured): Measured {
  return { value, uncertainty, count };
}

function difference(high: Measured, low: Measured): Measured {
  return {
    value: high.value - low.value,
    uncertainty: Math.hypot(high.uncertainty, low.uncertainty),
    count: Math.min(high.count, low.count),
  };
}

function oneLevel(
  state: State,
): Pick<StateLevels, 'method' | 'low' | 'high' | 'amplitude' | 'states' | 'noise'> {
  const none: Estimate = { reason: 'one level only' };
  return { method: 'one level', low: none, high: none, amplitude: none, states: [state], noise: state.noise };
}

function pair(
  method: 'extremes' | 'given',
  lowValue: number,
  highValue: number,
  noise: number,
  count: number,
  step: number,
): Pick<StateLevels, 'method' | 'low' | 'high' | 'amplitude' | 'states' | 'noise'> {
  const uncertainty = method === 'given' ? 0 : Math.hypot(noise, step / Math.sqrt(12));
  const [low, high] = [lowValue, highValue].map((value) => ({ value, uncertainty, count }));
  return { method, low: low!, high: high!, amplitude: difference(high!, low!), states: [], noise };
}

/** Coarse bins; whole steps of the resolution wide, so that no bin holds more steps than its neighbours. */
function binned(fine: Histogram, { minimum, maximum, count }: Extremes, step: number): Histogram {
  const range = maximum - minimum;
  const wanted = Math.min(MOST_BINS, Math.max(FEWEST_BINS, Math.round(Math.sqrt(count))));
  if (step === 0) return coarser(fine, minimum, range / wanted, wanted);
  const width = step * Math.max(1, Math.round(range / wanted / step));
  return coarser(fine, minimum - step / 2, width, Math.max(2, Math.ceil((range + step / 2) / width)));
}

/** Counts smoothed by 1-2-1, so that chance does not break a peak in two; ends keep what would fall over. */
function smoothed({ counts, start, width }: Histogram): Histogram {
  const last = counts.length - 1;
  const at = (i: number): number => counts[Math.min(last, Math.max(0, i))]!;
  return { counts: counts.map((count, i) => at(i - 1) + 2 * count + at(i + 1)), start, width };
}

/** Bin with the most samples below (`side` -1) or above (1) a value; of equals the one that lies farther out. */
function mode({ counts, start, width }: Histogram, half: number, side: 1 | -1): number {
  let best = side < 0 ? 0 : counts.length - 1;
  counts.forEach((count, i) => {
    if (side * (start + (i + 0.5) * width - half) < 0) return;
    if (count > counts[best]! || (side > 0 && count === counts[best])) best = i;
  });
  return best;
}

/** Bins of the peaks: each parted from higher ones by a valley that chance does not make. */
function peaks({ counts }: Histogram): number[] {
  const found: number[] = [];
  const order = Array.from(counts.keys()).sort((a, b) => counts[b]! - counts[a]!);
  for (const bin of order) {
    const peak = counts[bin]!;
    if (peak === 0) break;
    const parted = found.every((other) => {
      const between = counts.subarray(Math.min(bin, other), Math.max(bin, other) + 1);
      const valley = between.reduce((least, count) => Math.min(least, count));
      return valley < VALLEY * peak && peak - valley > 4 * Math.sqrt(peak);
    });
    if (parted) found.push(bin);
  }
  return found;
}

/**
 * The samples about a peak: four standard deviations about the median to either side, the standard deviation from the median
 * distance, so that neither edges nor tails move the level.
 */
function band(
  fine: Histogram,
  { counts, start, width }: Histogram,
  bin: number,
  least: number,
  greatest: number,
  step: number,
  visits: (own: number, beside: number) => number,
): Band {
  const floor = counts[bin]! / 4;
  let [first, last] = [bin, bin];
  while (first > 0 && counts[first - 1]! > floor) first--;
  while (last < counts.length - 1 && counts[last + 1]! > floor) last++;
  let from = Math.max(least, start + first * width);
  let to = Math.min(greatest, start + (last + 1) * width);
  const reach = 1.25 * (to - from);
  let [centre, sigma] = [(from + to) / 2, 0];
  for (let round = 0; round < 4; round++) {
    const { count, median } = middle(fine, from, to);
    if (count === 0) break;
    centre = median;
    sigma = MEDIAN_DISTANCE * medianDistance(fine, centre, from, to);
    const within = Math.min(reach, Math.max(4 * sigma, fine.width));
    from = Math.max(least, centre - within);
    to = Math.min(greatest, centre + within);
  }
  // Between two steps of the resolution a quiet level shows as both: the lesser one belongs to it unless it is rare.
  if (sigma < step / 4) {
    const own = middle(fine, centre - step / 2, centre + step / 2).count;
    if (visits(centre, centre - step) > BESIDE_SHARE * own) from = Math.max(least, centre - 1.25 * step);
    if (visits(centre, centre + step) > BESIDE_SHARE * own) to = Math.min(greatest, centre + 1.25 * step);
  }
  return { from, to, centre, sigma };
}

/** Samples of the step beside that came from the own one and went back to it: a toggle, and not the foot of an edge. */
function visitsBeside(
  values: Float32Array,
  begin: number,
  end: number,
  own: number,
  beside: number,
  step: number,
): number {
  let [total, pending, from] = [0, 0, false];
  for (let i = begin; i < end; i++) {
    const v = values[i]!;
    if (Math.abs(v - own) < step / 2) {
      total += pending;
      pending = 0;
      from = true;
    } else if (from && Math.abs(v - beside) < step / 2) pending++;
    else [pending, from] = [0, false];
  }
  return total;
}

/** Mean and standard deviation of the samples in each band, in one pass over the samples. */
function inBands(
  values: Float32Array,
  begin: number,
  end: number,
  { counts, start, width }: Histogram,
  bands: readonly Band[],
  step: number,
): State[] {
  const owner = new Uint8Array(counts.length);
  bands.forEach(({ from, to }, k) => {
    const first = Math.max(0, Math.floor((from - start) / width));
    const last = Math.min(counts.length - 1, Math.floor((to - start) / width));
    owner.fill(k + 1, first, last + 1);
  });
  const size = bands.length + 1;
  const number = new Float64Array(size);
  const sums = new Float64Array(size);
  const squares = new Float64Array(size);
  const centres = Float64Array.of(0, ...bands.map(({ centre }) => centre));
  const scale = 1 / width;
  for (let i = begin; i < end; i++) {
    const v = values[i]!;
    if (v - v !== 0) continue;
    const k = owner[((v - start) * scale) | 0]!;
    const off = v - centres[k]!;
    number[k]!++;
    sums[k]! += off;
    squares[k]! += off * off;
  }
  return bands.map(({ centre }, j) => {
    const [n, sum, square] = [number[j + 1]!, sums[j + 1]!, squares[j + 1]!];
    if (n === 0) return { value: centre, uncertainty: width, count: 0, noise: 0 };
    const noise = Math.sqrt(Math.max(0, square - (sum * sum) / n) / Math.max(1, n - 1));
    // Noise of half a step or more makes the mean of many samples finer than a step.
    const resolution = noise < step / 2 ? step / Math.sqrt(12) : 0;
    return {
      value: centre + sum / n,
      uncertainty: Math.hypot(noise / Math.sqrt(n), resolution),
      count: n,
      noise,
    };
  });
}

/** Samples from which the noise of a waveform without states is taken. */
const NOISE_SAMPLES = 16_384;

/** Noise about a smooth course, from second differences: `sigma^2 = var / 6`, by their median so that corners do not count. */
export function courseNoise(values: Float32Array, begin: number, end: number): number {
  const bends: number[] = [];
  for (let i = begin + 2; i < Math.min(end, begin + NOISE_SAMPLES); i++) {
    const bend = values[i]! - 2 * values[i - 1]! + values[i - 2]!;
    if (bend - bend === 0) bends.push(Math.abs(bend));
  }
  bends.sort((a, b) => a - b);
  return bends.length === 0 ? 0 : (MEDIAN_DISTANCE * bends[bends.length >> 1]!) / Math.sqrt(6);
}

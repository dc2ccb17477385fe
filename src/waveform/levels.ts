/** State levels: the values at which a waveform rests, by the histogram method of the pulse standard. */

import { type Band, band, inBands, MEDIAN_DISTANCE, type State, visitsBeside } from './bands.ts';
import type { Estimate, Measured } from './estimate.ts';
import { extent, type TimeWindow } from './extent.ts';
import { extremes, histogram } from './histogram.ts';
import { binned, mode, peaks, smoothed } from './modes.ts';
import { quantum } from './quantum.ts';
import type { Trace } from './trace.ts';

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
  const coarse = smoothed(raw);
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

/** Samples from which the noise of a waveform without states is taken. */
const NOISE_SAMPLES = 16_384;

/** Noise about a smooth course, from second differences: `sigma^2 = var / 6`, by their median so that corners do not count. */
function courseNoise(values: Float32Array, begin: number, end: number): number {
  const bends: number[] = [];
  for (let i = begin + 2; i < Math.min(end, begin + NOISE_SAMPLES); i++) {
    const bend = values[i]! - 2 * values[i - 1]! + values[i - 2]!;
    if (bend - bend === 0) bends.push(Math.abs(bend));
  }
  bends.sort((a, b) => a - b);
  return bends.length === 0 ? 0 : (MEDIAN_DISTANCE * bends[bends.length >> 1]!) / Math.sqrt(6);
}

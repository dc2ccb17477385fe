/** All that is measured on one trace. */

import { type Aberrations, aberrations } from './aberrations.ts';
import { type EdgeOptions, type Edges, edgesOf } from './edges.ts';
import { type Estimate, Mean, type Reason } from './estimate.ts';
import { extent } from './extent.ts';
import { type StateLevels, stateLevels } from './levels.ts';
import { type PulseOptions, type Pulses, pulses } from './pulses.ts';
import { instantAt, type Trace } from './trace.ts';

export interface MeasurementOptions extends EdgeOptions, PulseOptions {
  /** Half the settling band as a share of the amplitude; 0.05 where absent. */
  readonly settlingBand?: number;
}

/** Transitions of one direction. */
export interface TransitionMeasurement extends Aberrations {
  /** Transitions seen. */
  readonly count: number;
  /** Seconds between the instants of the two reference levels, 10 and 90 % unless asked otherwise. */
  readonly duration: Estimate;
}

export interface Measurement extends Pulses {
  readonly levels: StateLevels;
  readonly edges: Edges;
  readonly rise: TransitionMeasurement;
  readonly fall: TransitionMeasurement;
  readonly average: Estimate;
  readonly rms: Estimate;
  readonly peakToPeak: Estimate;
}

const SETTLING_BAND = 0.05;

/**
 * Measures a trace, or a window of it. What cannot be had is a reason in the place of a value.
 *
 * @throws RangeError  when an option is out of its range; the message names it
 */
export function measurement(trace: Trace, options: MeasurementOptions = {}): Measurement {
  const band = options.settlingBand ?? SETTLING_BAND;
  if (!(band > 0 && band < 0.5)) throw new RangeError(`settlingBand ${band}: above 0 and below 0.5`);
  const levels = stateLevels(trace, options);
  const edges = edgesOf(trace, options, levels);
  const { begin, end } = extent(trace, options.window);
  const start = end > begin ? instantAt(trace.timebase, begin) : 0;
  const stop = end > begin ? instantAt(trace.timebase, end - 1) : 0;
  return {
    levels,
    edges,
    ...pulses(edges, start, stop, options),
    rise: transitions(trace, edges, true, band, options),
    fall: transitions(trace, edges, false, band, options),
    ...overall(trace, levels, begin, end),
  };
}

function transitions(
  trace: Trace,
  edges: Edges,
  rising: boolean,
  band: number,
  options: MeasurementOptions,
): TransitionMeasurement {
  const durations = new Mean();
  let count = 0;
  for (let i = 0; i < edges.count; i++) {
    if ((edges.rising[i] === 1) !== rising) continue;
    count++;
    const duration = edges.end[i]! - edges.begin[i]!;
    if (!Number.isNaN(duration)) durations.add(duration);
  }
  const reason: Reason = edges.reason ?? 'no full transition';
  return {
    count,
    duration: durations.estimate(
      reason,
      Math.SQRT2 * edges.instantNoise,
      Math.SQRT2 * edges.instantResolution,
    ),
    ...aberrations(trace, edges, rising, band, options.window),
  };
}

/** Average and rms, weighted with the time each sample stands for where stamps are uneven; peak to peak. */
function overall(
  { values, timebase }: Trace,
  levels: StateLevels,
  begin: number,
  end: number,
): { average: Estimate; rms: Estimate; peakToPeak: Estimate } {
  const { minimum, maximum, count, noise, quantum } = levels;
  if (count === 0) {
    const none: Estimate = { reason: 'no samples' };
    return { average: none, rms: none, peakToPeak: none };
  }
  const stamps = 'stamps' in timebase && end - begin > 1 ? timebase.stamps : undefined;
  // About the minimum, so that a small swing on a large level does not cancel.
  let [sum, squares, weights] = [0, 0, 0];
  for (let i = begin; i < end; i++) {
    const off = values[i]! - minimum;
    if (off - off !== 0) continue;
    const weight =
      stamps === undefined ? 1 : (stamps[Math.min(end - 1, i + 1)]! - stamps[Math.max(begin, i - 1)]!) / 2;
    weights += weight;
    sum += weight * off;
    squares += weight * off * off;
  }
  const mean = sum / weights;
  const value = Math.sqrt(Math.max(0, squares / weights + 2 * minimum * mean + minimum * minimum));
  const resolution = noise < quantum / 2 ? quantum / Math.sqrt(12) : 0;
  const uncertainty = Math.hypot(noise / Math.sqrt(count), resolution);
  return {
    average: { value: minimum + mean, uncertainty, count },
    rms: { value, uncertainty, count },
    peakToPeak: {
      value: maximum - minimum,
      uncertainty: Math.SQRT2 * Math.hypot(noise, quantum / Math.sqrt(12)),
      count,
    },
  };
}

export interface DelayOptions {
  /** Transitions of the first trace that count; both where absent. */
  readonly from?: 'rising' | 'falling';
  /** Transitions of the second trace that count; both where absent. */
  readonly to?: 'rising' | 'falling';
}

/** Seconds from each transition of one trace to the next one of another, before the first has its next. */
export function delay(first: Edges, second: Edges, options: DelayOptions = {}): Estimate {
  const wanted = (edges: Edges, direction?: 'rising' | 'falling'): number[] =>
    Array.from(edges.mid.keys()).filter(
      (i) => direction === undefined || (edges.rising[i] === 1) === (direction === 'rising'),
    );
  const none = first.reason ?? second.reason;
  if (none) return { reason: none };
  const from = wanted(first, options.from);
  const to = wanted(second, options.to);
  const delays = new Mean();
  let j = 0;
  from.forEach((i, k) => {
    const start = first.mid[i]!;
    const until = k + 1 < from.length ? first.mid[from[k + 1]!]! : Number.POSITIVE_INFINITY;
    while (j < to.length && second.mid[to[j]!]! < start) j++;
    if (j < to.length && second.mid[to[j]!]! < until) delays.add(second.mid[to[j]!]! - start);
  });
  return delays.estimate(
    'no instant follows',
    Math.hypot(first.instantNoise, second.instantNoise),
    Math.hypot(first.instantResolution, second.instantResolution),
  );
}

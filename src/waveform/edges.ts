/** Transitions of a two-level waveform: the instants at which it passes its reference levels. */

import type { Reason } from './estimate.ts';
import { isMeasured } from './estimate.ts';
import { extent, instantBetween, meanStep } from './extent.ts';
import { type LevelOptions, type StateLevels, stateLevels } from './levels.ts';
import type { Trace } from './trace.ts';

/** The waveform must pass the middle by so many standard deviations of its noise, either way, to have passed it. */
const HYSTERESIS_SIGMAS = 4;
/** … and by at least and at most these shares of the amplitude. */
const LEAST_HYSTERESIS = 0.05;
const MOST_HYSTERESIS = 0.4;

export interface EdgeOptions extends LevelOptions {
  /** Half the width of the hysteresis, as a share of the amplitude (above 0, below 0.5); from the noise where absent. */
  readonly hysteresis?: number;
  /** Reference levels of the transition duration, as shares of the amplitude; 0.1 and 0.9 where absent. */
  readonly references?: readonly [number, number];
}

/** Transitions in the order of time, one entry each in all the arrays. */
export interface Edges {
  readonly count: number;
  /** 1 for a rising transition, 0 for a falling one. */
  readonly rising: Uint8Array;
  /** Seconds at which the middle level is passed. */
  readonly mid: Float64Array;
  /** Seconds at the first and the second reference level; NaN where the waveform does not reach from one to the other. */
  readonly begin: Float64Array;
  readonly end: Float64Array;
  /** First sample past the hysteresis, as an index into the trace. */
  readonly sample: Uint32Array;
  /** Stretches without a gap, numbered: transitions of different ones may have others between them, unseen. */
  readonly stretch: Uint32Array;
  /** Standard uncertainty of one instant, seconds: from noise, which differs from edge to edge … */
  readonly instantNoise: number;
  /** … and from sample interval, resolution and level, which is common to edges of one direction. */
  readonly instantResolution: number;
  readonly levels: StateLevels;
  /** The hysteresis: a state is left for the other when the waveform is at or beyond these; NaN without levels. */
  readonly down: number;
  readonly up: number;
  /** Why there are none at all; absent when there are some. */
  readonly reason?: Reason;
}

/** Arrays that grow; transitions are not known in number beforehand. */
class Growing {
  rising = new Uint8Array(64);
  mid = new Float64Array(64);
  begin = new Float64Array(64);
  end = new Float64Array(64);
  sample = new Uint32Array(64);
  stretch = new Uint32Array(64);
  count = 0;

  room(): void {
    if (this.count < this.mid.length) return;
    const size = 2 * this.mid.length;
    const grown = <T extends { set(from: T): void }>(to: T, from: T): T => {
      to.set(from);
      return to;
    };
    this.rising = grown(new Uint8Array(size), this.rising);
    this.mid = grown(new Float64Array(size), this.mid);
    this.begin = grown(new Float64Array(size), this.begin);
    this.end = grown(new Float64Array(size), this.end);
    this.sample = grown(new Uint32Array(size), this.sample);
    this.stretch = grown(new Uint32Array(size), this.stretch);
  }
}

/**
 * Every transition from one state to the other. One that lies across a gap (samples that are not numbers) is none: its instant is
 * not known.
 *
 * An instant is interpolated between samples. Where noise passes a level several times, it is the mean of the first and the last
 * pass.
 *
 * @throws RangeError  when options are out of their range; the message names them
 * @source IEEE Std 181-2011, 5.3: reference levels, reference-level instants, transition duration (clause from memory)
 */
export function edgesOf(trace: Trace, options: EdgeOptions = {}, known?: StateLevels): Edges {
  const [lower, upper] = options.references ?? [0.1, 0.9];
  if (!(lower > 0 && lower < 0.5 && upper > 0.5 && upper < 1)) {
    throw new RangeError(`references ${lower} and ${upper}: one above 0 and below 0.5, the other to below 1`);
  }
  if (options.hysteresis !== undefined && !(options.hysteresis > 0 && options.hysteresis < 0.5)) {
    throw new RangeError(`hysteresis ${options.hysteresis}: above 0 and below 0.5 of the amplitude`);
  }
  const levels = known ?? stateLevels(trace, options);
  const found = new Growing();
  if (!isMeasured(levels.low) || !isMeasured(levels.high)) {
    return edges(
      found,
      levels,
      0,
      0,
      [Number.NaN, Number.NaN],
      'reason' in levels.low ? levels.low.reason : 'one level only',
    );
  }
  const { begin, end } = extent(trace, options.window);
  const { values, timebase } = trace;
  const low = levels.low.value;
  const amplitude = levels.high.value - low;
  const share =
    options.hysteresis ??
    Math.min(MOST_HYSTERESIS, Math.max(LEAST_HYSTERESIS, (HYSTERESIS_SIGMAS * levels.noise) / amplitude));
  const middle = low + amplitude / 2;
  const [down, up] = [middle - share * amplitude, middle + share * amplitude];
  // Nearer to a state than half way to the reference level a pass cannot be told from rest.
  const near = Math.min(share, lower / 2, (1 - upper) / 2) * amplitude;
  const references = { low: low + lower * amplitude, high: low + upper * amplitude };

  let state = 0;
  let stretch = 0;
  let [slopes, durations, timed] = [0, 0, 0];
  let previous = begin;
  for (let i = begin; i < end; i++) {
    const v = values[i]!;
    if (v - v !== 0) {
      if (state !== 0) stretch++;
      state = 0;
      previous = i + 1;
      continue;
    }
    if (state === 0) {
      if (v >= up) state = 1;
      else if (v <= down) state = -1;
      continue;
    }
    if (state === 1 ? v > down : v < up) continue;
    const rising = state === -1;
    state = -state;
    let j = i - 1;
    if (rising) while (values[j]! > down) j--;
    else while (values[j]! < up) j--;
    found.room();
    const n = found.count++;
    found.rising[n] = rising ? 1 : 0;
    found.sample[n] = i;
    found.stretch[n] = stretch;
    found.mid[n] = instantBetween(timebase, passing(values, j, i, middle, rising));
    const [first, second] = rising ? [references.low, references.high] : [references.high, references.low];
    const started = backTo(values, i, previous, first, rising, near);
    const ended = onTo(values, j, end, second, rising, near, rising ? down : up);
    found.begin[n] =
      started === undefined
        ? Number.NaN
        : instantBetween(timebase, passing(values, ...started, first, rising));
    found.end[n] =
      ended === undefined ? Number.NaN : instantBetween(timebase, passing(values, ...ended, second, rising));
    previous = i;
    slopes += Math.abs(values[i]! - values[j]!) / (instantBetween(timebase, i) - instantBetween(timebase, j));
    const duration = found.end[n]! - found.begin[n]!;
    if (!Number.isNaN(duration)) {
      durations += duration;
      timed++;
    }
  }
  if (found.count === 0) return edges(found, levels, 0, 0, [down, up], 'no full transition');
  const slope = slopes / found.count;
  const step = meanStep(trace);
  // An edge within one sample interval may be anywhere in it; over many samples interpolation knows it better in proportion.
  const duration = timed > 0 ? durations / timed : amplitude / slope;
  const interval = (step / Math.sqrt(12)) * Math.min(1, step / Math.max(duration, Number.MIN_VALUE));
  const level = Math.hypot(levels.low.uncertainty, levels.high.uncertainty) / 2 / slope;
  const resolution = levels.quantum / Math.sqrt(12) / slope;
  return edges(found, levels, levels.noise / slope, Math.hypot(interval, level, resolution), [down, up]);
}

function edges(
  found: Growing,
  levels: StateLevels,
  instantNoise: number,
  instantResolution: number,
  [down, up]: readonly [number, number],
  reason?: Reason,
): Edges {
  const { count } = found;
  return {
    count,
    rising: found.rising.subarray(0, count),
    mid: found.mid.subarray(0, count),
    begin: found.begin.subarray(0, count),
    end: found.end.subarray(0, count),
    sample: found.sample.subarray(0, count),
    stretch: found.stretch.subarray(0, count),
    instantNoise,
    instantResolution,
    levels,
    down,
    up,
    ...(reason ? { reason } : {}),
  };
}

/** Position at which a level is passed between samples `from` (before it) and `to` (past it): mean of the first and last pass. */
function passing(values: Float32Array, from: number, to: number, level: number, rising: boolean): number {
  const sign = rising ? 1 : -1;
  let first = from + 1;
  while (sign * (values[first]! - level) < 0) first++;
  let last = to - 1;
  while (sign * (values[last]! - level) >= 0) last--;
  return (between(values, first - 1, level) + between(values, last, level)) / 2;
}

function between(values: Float32Array, i: number, level: number): number {
  return i + (level - values[i]!) / (values[i + 1]! - values[i]!);
}

/** Samples before and past the first reference level, searched back from sample `i`; undefined if the trace does not reach. */
function backTo(
  values: Float32Array,
  i: number,
  least: number,
  level: number,
  rising: boolean,
  near: number,
): [number, number] | undefined {
  const sign = rising ? 1 : -1;
  let before = -1;
  let j = i;
  for (; j >= least; j--) {
    const past = sign * (values[j]! - level);
    if (past < 0 && before < 0) before = j;
    if (past <= -near) break;
    // Back on the far side of the level by as much: what lies before is another event.
    if (before >= 0 && past >= near) return [before, firstPast(values, before, i, level, sign, near)];
  }
  if (j >= least) before = j;
  return before < 0 ? undefined : [before, firstPast(values, before, i, level, sign, near)];
}

/** First sample from `from` on that is past a level by `near`, or `to`, which is past it. */
function firstPast(
  values: Float32Array,
  from: number,
  to: number,
  level: number,
  sign: number,
  near: number,
): number {
  let i = from;
  while (i < to && sign * (values[i]! - level) < near) i++;
  return i;
}

/** Samples before and past the second reference level, searched on from sample `j` until the waveform is `back` in its old state. */
function onTo(
  values: Float32Array,
  j: number,
  end: number,
  level: number,
  rising: boolean,
  near: number,
  back: number,
): [number, number] | undefined {
  const sign = rising ? 1 : -1;
  let past = -1;
  let i = j + 1;
  for (; i < end; i++) {
    const off = sign * (values[i]! - level);
    // A gap, or the next transition.
    if (off - off !== 0 || sign * (values[i]! - back) <= 0) break;
    if (off >= 0 && past < 0) past = i;
    if (off >= near) break;
    if (past >= 0 && off <= -near) break;
  }
  if (i < end && sign * (values[i]! - level) >= near) past = i;
  if (past < 0) return undefined;
  let before = past;
  while (before > j && sign * (values[before]! - level) > -near) before--;
  return [before, past];
}

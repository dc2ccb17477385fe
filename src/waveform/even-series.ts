/** Traces as evenly spaced series on one interval, and at coarser scales. */

import { firstAtOrAfter, instantBetween } from './extent.ts';
import { instantAt, type Trace } from './trace.ts';

/** Value of sample `i` at `start + i step` seconds. */
export interface EvenSeries {
  readonly start: number;
  readonly step: number;
  readonly values: Float32Array;
}

/** The trace itself where it has this interval, else interpolated between its samples; NaN where either neighbour is. */
export function evenSeries(trace: Trace, step: number): EvenSeries {
  const { timebase, values } = trace;
  const { length } = values;
  if (!('stamps' in timebase) && timebase.step === step) return { start: timebase.start, step, values };
  if (length === 0) return { start: 0, step, values };
  const start = instantAt(timebase, 0);
  const count = Math.floor((instantAt(timebase, length - 1) - start) / step + 1e-9) + 1;
  const even = new Float32Array(count);
  let j = 0;
  for (let i = 0; i < count; i++) {
    const t = start + i * step;
    while (j + 1 < length && instantAt(timebase, j + 1) <= t) j++;
    even[i] = between(trace, j, t);
  }
  return { start, step, values: even };
}

function between({ timebase, values }: Trace, j: number, t: number): number {
  const at = instantAt(timebase, j);
  if (j + 1 >= values.length || t <= at) return values[j]!;
  const share = (t - at) / (instantAt(timebase, j + 1) - at);
  return values[j]! + (values[j + 1]! - values[j]!) * share;
}

/** Value of a trace at an instant, interpolated; NaN outside it and beside a gap. */
export function valueAt(trace: Trace, t: number): number {
  const { timebase, values } = trace;
  const next = firstAtOrAfter(timebase, values.length, t);
  if (next < values.length && instantAt(timebase, next) === t) return values[next]!;
  if (next === 0 || next === values.length) return Number.NaN;
  return between(trace, next - 1, t);
}

/** Position of an instant between samples, for evenly spaced ones and stamps alike; outside the trace outside its samples. */
export function positionOf({ timebase, values }: Trace, t: number): number {
  if (!('stamps' in timebase)) return (t - timebase.start) / timebase.step;
  const next = firstAtOrAfter(timebase, values.length, t);
  if (next === 0) return timebase.stamps[0] === t ? 0 : -1;
  if (next === values.length) return values.length;
  const at = instantBetween(timebase, next - 1);
  return next - 1 + (t - at) / (instantBetween(timebase, next) - at);
}

/** Means over `factor` samples each; those that are not numbers are left out, and a mean of none is none. */
function coarse(values: Float32Array, factor: number): Float32Array {
  if (factor === 1) return values;
  const means = new Float32Array(Math.floor(values.length / factor));
  for (let k = 0, i = 0; k < means.length; k++) {
    let [sum, count] = [0, 0];
    for (const end = i + factor; i < end; i++) {
      const v = values[i]!;
      if (v - v === 0) {
        sum += v;
        count++;
      }
    }
    means[k] = count > 0 ? sum / count : Number.NaN;
  }
  return means;
}

/** A series and its coarser forms, each made once. */
export class Scales {
  readonly values: Float32Array;
  readonly #made = new Map<number, Float32Array>();

  constructor(values: Float32Array) {
    this.values = values;
  }

  at(factor: number): Float32Array {
    const made = this.#made.get(factor) ?? coarse(this.values, factor);
    this.#made.set(factor, made);
    return made;
  }
}

/** Less their mean; 0 where there is no number, so that a gap adds nothing to a correlation. */
export function centred(values: Float32Array): Float32Array {
  let [sum, count] = [0, 0];
  for (const v of values) {
    if (v - v === 0) {
      sum += v;
      count++;
    }
  }
  const mean = count > 0 ? sum / count : 0;
  return values.map((v) => (v - v === 0 ? v - mean : 0));
}

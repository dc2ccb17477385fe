/** Which samples of a trace lie in a stretch of time. */

import { instantAt, type Timebase, type Trace } from './trace.ts';

/** Seconds; both ends belong to it. */
export interface TimeWindow {
  readonly from: number;
  readonly to: number;
}

/** Index of the first of `length` samples at or after `t`; `length` if there is none. */
export function firstAtOrAfter(timebase: Timebase, length: number, t: number): number {
  if (!('stamps' in timebase)) {
    let i = Math.min(length, Math.max(0, Math.ceil((t - timebase.start) / timebase.step)));
    // The quotient is rounded: step to the sample that the instants themselves name.
    while (i > 0 && instantAt(timebase, i - 1) >= t) i--;
    while (i < length && instantAt(timebase, i) < t) i++;
    return i;
  }
  let [low, high] = [0, length];
  while (low < high) {
    const middle = (low + high) >> 1;
    if (timebase.stamps[middle]! < t) low = middle + 1;
    else high = middle;
  }
  return low;
}

/** Samples of a window, `begin` to before `end`; the whole trace without one. */
export function extent(trace: Trace, window?: TimeWindow): { readonly begin: number; readonly end: number } {
  const { length } = trace.values;
  if (window === undefined) return { begin: 0, end: length };
  const begin = firstAtOrAfter(trace.timebase, length, window.from);
  let end = firstAtOrAfter(trace.timebase, length, window.to);
  while (end < length && instantAt(trace.timebase, end) <= window.to) end++;
  return { begin, end: Math.max(begin, end) };
}

/** Mean seconds between samples; 0 for fewer than two. */
export function meanStep({ timebase, values }: Trace): number {
  if (!('stamps' in timebase)) return timebase.step;
  const last = values.length - 1;
  return last > 0 ? (timebase.stamps[last]! - timebase.stamps[0]!) / last : 0;
}

/** Seconds at a position between samples. */
export function instantBetween(timebase: Timebase, position: number): number {
  if (!('stamps' in timebase)) return timebase.start + position * timebase.step;
  const i = Math.floor(position);
  const at = timebase.stamps[i]!;
  return position === i ? at : at + (position - i) * (timebase.stamps[i + 1]! - at);
}

/** Predicted waveforms as the picture and the measurements take them. */

import type { WavesView } from '../../server/index.ts';
import { inverseMap, mapped, type TimeMap, type Trace } from '../../waveform/index.ts';
import type { Span } from './span.ts';

/** Straight lines between instants; from `from` to `to` once, or again and again. */
export interface Course {
  readonly from: number;
  readonly to: number;
  readonly repeats: boolean;
  /** Seconds, rising. */
  readonly instants: readonly number[];
}

/** What is expected at a point. */
export interface Expected {
  readonly point: string;
  readonly caution: string;
  readonly sound: Course;
  readonly volts: readonly number[];
  readonly low: readonly number[];
  readonly high: readonly number[];
  readonly fault?: {
    /** Its part, and how it has failed. */
    readonly part: string;
    readonly words: string;
    readonly course: Course;
    readonly volts: readonly number[];
  };
  /** Least and greatest of all of it. */
  readonly least: number;
  readonly greatest: number;
}

/** The expected waveforms by their points. */
export function expectedOf(view: WavesView): ReadonlyMap<string, Expected> {
  const { from, to, repeats, instants, faultInstants } = view;
  const sound = { from, to, repeats, instants };
  return new Map(
    view.waves.map(({ point, caution, volts, low, high, faultVolts }) => {
      const fault = view.fault && {
        part: view.fault.part,
        words: view.fault.words,
        course: { ...sound, instants: faultInstants },
        volts: faultVolts,
      };
      const ends = { least: least([low, faultVolts]), greatest: -least([high, faultVolts], -1) };
      return [point, { point, caution, sound, volts, low, high, ...ends, ...(fault ? { fault } : {}) }];
    }),
  );
}

function least(lists: readonly (readonly number[])[], sign = 1): number {
  return lists.flat().reduce((a, b) => Math.min(a, sign * b), Number.POSITIVE_INFINITY);
}

/** So many turns of a course one after another, as samples; one where it does not repeat. */
export function traceOf(
  { from, to, repeats, instants }: Course,
  volts: readonly number[],
  name: string,
  turns: number,
): Trace {
  const count = repeats ? Math.max(1, Math.floor(turns)) : 1;
  const [stamps, values]: [number[], number[]] = [[], []];
  for (let turn = 0; turn < count; turn++) {
    instants.forEach((t, i) => {
      const at = t + turn * (to - from);
      // The end of a turn is the start of the next.
      if (at <= (stamps.at(-1) ?? Number.NEGATIVE_INFINITY)) return;
      stamps.push(at);
      values.push(volts[i]!);
    });
  }
  return {
    name,
    unit: 'V',
    timebase: { stamps: Float64Array.from(stamps) },
    values: Float32Array.from(values),
  };
}

/** Corners of a line, across in shares of what is seen. */
export interface Line {
  readonly xs: readonly number[];
  readonly values: readonly number[];
}

/** Corners drawn one by one, for each column of the picture. */
const CORNERS = 4;

/**
 * The line of a course over what is seen: all of its corners where they are few, else the least and greatest value of each column,
 * so that a thousand turns are drawn as fast as one.
 *
 * @param map  from the seconds of the picture to those of the course
 * @param edge  the least or the greatest value of a column alone
 */
export function lineOf(
  { from, to, repeats, instants }: Course,
  volts: readonly number[],
  map: TimeMap,
  span: Span,
  columns: number,
  edge?: 'low' | 'high',
): Line {
  const [begin, end] = [mapped(map, span.from), mapped(map, span.to)];
  const period = to - from;
  const first = repeats ? Math.floor((begin - from) / period) : 0;
  const last = repeats ? Math.floor((end - from) / period) : 0;
  const turns = last - first + 1;
  const back = inverseMap(map);
  const xOf = (t: number): number => (mapped(back, t) - span.from) / (span.to - span.from);
  const [xs, values]: [number[], number[]] = [[], []];
  if (turns * instants.length <= CORNERS * columns) {
    for (let turn = first; turn <= last; turn++) {
      instants.forEach((t, i) => {
        xs.push(xOf(t + turn * period));
        values.push(volts[i]!);
      });
    }
    return { xs, values };
  }
  // Where a turn is less than a column wide, several are one.
  const together = Math.ceil(turns / columns);
  const buckets = Math.max(1, Math.floor(columns / turns));
  const ends = Array.from({ length: buckets }, () => ({ low: Infinity, high: -Infinity }));
  instants.forEach((t, i) => {
    const bucket = ends[Math.min(buckets - 1, Math.floor(((t - from) / period) * buckets))]!;
    bucket.low = Math.min(bucket.low, volts[i]!);
    bucket.high = Math.max(bucket.high, volts[i]!);
  });
  for (let turn = first; turn <= last; turn += together) {
    ends.forEach(({ low, high }, k) => {
      // No corner in it: the line goes straight through.
      if (low > high) return;
      const x = xOf(from + (turn + ((k + 0.5) / buckets) * together) * period);
      for (const value of edge === 'low' ? [low] : edge === 'high' ? [high] : [low, high]) {
        xs.push(x);
        values.push(value);
      }
    });
  }
  return { xs, values };
}

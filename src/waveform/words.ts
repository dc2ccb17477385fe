/** Serial words in logic traces: the bits of each, and the first in which two units part. */

import { firstAtOrAfter } from './extent.ts';
import { logicEdges, stateAt } from './logic.ts';
import { inverseMap, mapped, type TimeMap } from './time-map.ts';
import type { LogicTrace } from './trace.ts';

/** When bits are read: at edges of a clock, or in the cells of an even bit period. */
export type BitTiming =
  | {
      readonly clock: LogicTrace;
      /** Edge at which a bit is valid. */
      readonly edge: 'rising' | 'falling';
      /** Seconds after the edge at which it is read: 0 where absent. */
      readonly after?: number;
    }
  | {
      /** Seconds a bit. */
      readonly period: number;
      /** Where in its cell a bit is read: 0.5, the middle, where absent. */
      readonly at?: number;
    };

export interface WordFrame {
  readonly timing: BitTiming;
  /** Seconds at which the first bit of the first word begins; clock edges before it are not counted. */
  readonly start: number;
  /** Bits in a word. */
  readonly length: number;
  readonly order: 'least significant first' | 'most significant first';
}

export interface Word {
  /** Most significant bit first, whatever the order in time: `0`, `1`, `x`, `z`. */
  readonly bits: string;
  /** Seconds at which each bit was read, in the order of time. */
  readonly instants: Float64Array;
}

/**
 * Whole words of a single line, as many as there are before its end.
 *
 * @throws RangeError  for a trace of several bits, or a frame without length or period; the message names it
 */
export function words(trace: LogicTrace, frame: WordFrame): Word[] {
  if (trace.width !== 1)
    throw new RangeError(`${trace.name}: ${trace.width} bits wide; words come on one line`);
  if (!(Number.isInteger(frame.length) && frame.length > 0)) {
    throw new RangeError(`length ${frame.length}: a whole number of bits above 0`);
  }
  const instants = bitInstants(trace, frame);
  const found: Word[] = [];
  for (let i = 0; i + frame.length <= instants.length; i += frame.length) {
    const read = instants.slice(i, i + frame.length);
    const inTime = Array.from(read, (t) => stateAt(trace, t));
    if (frame.order === 'least significant first') inTime.reverse();
    found.push({ bits: inTime.join(''), instants: read });
  }
  return found;
}

function bitInstants(trace: LogicTrace, { timing, start }: WordFrame): Float64Array {
  if ('clock' in timing) {
    const edges = logicEdges(timing.clock, timing.edge);
    const read = edges.subarray(firstAtOrAfter({ stamps: edges }, edges.length, start));
    return read.map((t) => t + (timing.after ?? 0)).filter((t) => t <= trace.end);
  }
  const { period, at = 0.5 } = timing;
  if (!(period > 0)) throw new RangeError(`period ${period}: seconds above 0`);
  const count = Math.max(0, Math.floor((trace.end - start) / period - at) + 1);
  return Float64Array.from({ length: count }, (_, k) => start + (k + at) * period);
}

export interface BitDifference {
  /** Counted from 0. */
  readonly word: number;
  /** Weight of the bit: 0 the least significant. */
  readonly bit: number;
  /** Seconds of the first trace and of the second at which it was read. */
  readonly instant: number;
  readonly secondInstant: number;
  readonly first: string;
  readonly second: string;
}

export interface WordComparison {
  /** Words that both have. */
  readonly words: number;
  /** Bits that differ, in the order of time; `differences[0]` is where the units first part. */
  readonly differences: readonly BitDifference[];
  /** Bits of which either is not known, `x`: they agree with anything, and are counted. */
  readonly undecided: number;
}

/**
 * Two units' words, bit by bit. `z`, a line that nobody drives, differs from 0 and 1 and agrees with `z`.
 *
 * @param frame  the first trace's
 * @param other  the second trace's frame, say with its own clock; or the time map under which the first one's holds
 */
export function wordComparison(
  first: LogicTrace,
  second: LogicTrace,
  frame: WordFrame,
  other: WordFrame | TimeMap = frame,
): WordComparison {
  const [one, two] = [words(first, frame), words(second, 'rate' in other ? framed(frame, other) : other)];
  const count = Math.min(one.length, two.length);
  const differences: BitDifference[] = [];
  let undecided = 0;
  for (let word = 0; word < count; word++) {
    const [a, b] = [one[word]!, two[word]!];
    for (let k = 0; k < frame.length; k++) {
      const bit = frame.order === 'least significant first' ? k : frame.length - 1 - k;
      const place = frame.length - 1 - bit;
      const [p, q] = [a.bits[place]!, b.bits[place]!];
      if (p === 'x' || q === 'x') undecided++;
      else if (p !== q) {
        differences.push({
          word,
          bit,
          instant: a.instants[k]!,
          secondInstant: b.instants[k]!,
          first: p,
          second: q,
        });
      }
    }
  }
  return { words: count, differences, undecided };
}

/** A frame in the second trace's time. */
function framed(frame: WordFrame, map: TimeMap): WordFrame {
  const { timing } = frame;
  const start = mapped(map, frame.start);
  if (!('clock' in timing))
    return { ...frame, start, timing: { ...timing, period: timing.period * map.rate } };
  const { clock } = timing;
  const moved = {
    ...clock,
    instants: clock.instants.map((t) => mapped(map, t)),
    end: mapped(map, clock.end),
  };
  return { ...frame, start, timing: { ...timing, clock: moved, after: (timing.after ?? 0) * map.rate } };
}

/** A logic trace in the time of the first of two, given the map from first to second. */
export function inTimeOfFirst(second: LogicTrace, map: TimeMap): LogicTrace {
  const back = inverseMap(map);
  return {
    ...second,
    instants: second.instants.map((t) => mapped(back, t)),
    end: mapped(back, second.end),
  };
}

export interface StateDifference {
  /** Seconds of the first trace. */
  readonly from: number;
  readonly to: number;
  readonly first: string;
  readonly second: string;
}

/**
 * Stretches in which two logic traces are in different states for longer than a timing tolerance, without any word frame; bits that
 * are `x` in either agree.
 *
 * @param tolerance  seconds that edges may differ by
 */
export function stateDifferences(
  first: LogicTrace,
  second: LogicTrace,
  map: TimeMap,
  tolerance: number,
): StateDifference[] {
  if (first.width !== second.width) {
    throw new RangeError(`${first.name} has ${first.width} bits, ${second.name} ${second.width}`);
  }
  const other = inTimeOfFirst(second, map);
  const end = Math.min(first.end, other.end);
  const instants = new Float64Array(first.instants.length + other.instants.length);
  instants.set(first.instants);
  instants.set(other.instants, first.instants.length);
  instants.sort();
  const found: StateDifference[] = [];
  instants.forEach((from, i) => {
    const to = Math.min(end, instants[i + 1] ?? end);
    if (!(from < to)) return;
    const [p, q] = [stateAt(first, from), stateAt(other, from)];
    if (alike(p, q)) return;
    const last = found.at(-1);
    if (last && last.to === from && last.first === p && last.second === q) {
      found[found.length - 1] = { ...last, to };
    } else found.push({ from, to, first: p, second: q });
  });
  return found.filter(({ from, to }) => to - from > tolerance);
}

function alike(p: string, q: string): boolean {
  for (let k = 0; k < p.length; k++) if (p[k] !== q[k] && p[k] !== 'x' && q[k] !== 'x') return false;
  return true;
}

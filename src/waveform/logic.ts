/** Logic traces: from an analogue one, their states, their edges. */

import { type EdgeOptions, type Edges, edgesOf } from './edges.ts';
import type { Estimate } from './estimate.ts';
import type { TimeWindow } from './extent.ts';
import type { StateLevels } from './levels.ts';
import { instantAt, type LogicTrace, type Trace } from './trace.ts';

export interface LogicOptions extends EdgeOptions {
  /** `positive`: the higher level is 1; `negative`: the lower one is. */
  readonly sense?: 'positive' | 'negative';
}

/**
 * An analogue trace as 0 and 1, with the hysteresis of its edges. `x` in a gap, and from the start until the trace is clearly in one
 * state; all `x` where it has one level only and none were given.
 */
export function logicTrace(trace: Trace, options: LogicOptions = {}): LogicTrace {
  const edges = edgesOf(trace, options);
  const { values, timebase } = trace;
  const [high, low] = options.sense === 'negative' ? ['0', '1'] : ['1', '0'];
  const instants: number[] = [];
  const states: string[] = [];
  const enter = (t: number, state: string): void => {
    if (states.at(-1) === state) return;
    instants.push(t);
    states.push(state);
  };
  let state: string | undefined;
  let n = 0;
  for (let i = 0; i < values.length; i++) {
    const v = values[i]!;
    if (v - v !== 0) {
      state = 'x';
      enter(instantAt(timebase, i), state);
    } else if (n < edges.count && edges.sample[n] === i) {
      state = edges.rising[n] === 1 ? high : low;
      enter(edges.mid[n++]!, state);
    } else if (state === undefined || state === 'x') {
      state = v >= edges.up ? high : v <= edges.down ? low : 'x';
      enter(instantAt(timebase, i), state);
    }
  }
  const end = values.length > 0 ? instantAt(timebase, values.length - 1) : 0;
  return { name: trace.name, width: 1, instants: Float64Array.from(instants), states, end };
}

/** State at an instant, from one change to before the next; `x` in every bit before the first and after the end. */
export function stateAt({ width, instants, states, end }: LogicTrace, t: number): string {
  let [low, high] = [0, instants.length];
  while (low < high) {
    const middle = (low + high) >> 1;
    if (instants[middle]! <= t) low = middle + 1;
    else high = middle;
  }
  return low === 0 || t > end ? 'x'.repeat(width) : states[low - 1]!;
}

/** Instants at which a bit (0 the least significant) goes from 0 to 1, or from 1 to 0; changes from or to `x` and `z` are neither. */
export function logicEdges(
  { width, instants, states }: LogicTrace,
  direction: 'rising' | 'falling',
  bit = 0,
): Float64Array {
  if (!(bit >= 0 && bit < width)) throw new RangeError(`bit ${bit} of a trace of ${width}`);
  const [before, after] = direction === 'rising' ? ['0', '1'] : ['1', '0'];
  const at = width - 1 - bit;
  const found: number[] = [];
  for (let i = 1; i < states.length; i++) {
    if (states[i - 1]![at] === before && states[i]![at] === after) found.push(instants[i]!);
  }
  return Float64Array.from(found);
}

/**
 * Transitions of a single line between 0 and 1, as `pulses` and the alignment by edges take them; one through `x` or `z` is none, and
 * pulses may have been missed there. A transition has no duration: `begin`, `mid` and `end` are one instant.
 *
 * How finely the analyser looked is not known. It is taken to be the shortest interval between two changes: rather too coarse.
 *
 * @throws RangeError  for a trace of several bits
 */
export function edgesOfLogic({ name, width, instants, states }: LogicTrace, window?: TimeWindow): Edges {
  if (width !== 1) throw new RangeError(`${name}: ${width} bits wide; transitions are those of one line`);
  const [from, to] = [window?.from ?? Number.NEGATIVE_INFINITY, window?.to ?? Number.POSITIVE_INFINITY];
  const mid: number[] = [];
  const rising: number[] = [];
  const sample: number[] = [];
  const stretch: number[] = [];
  let [run, shortest, known] = [0, Number.POSITIVE_INFINITY, false];
  for (let i = 0; i < states.length; i++) {
    if (i > 0) shortest = Math.min(shortest, instants[i]! - instants[i - 1]!);
    const [before, after] = [states[i - 1], states[i]];
    if (after !== '0' && after !== '1') run++;
    else if (instants[i]! <= to && (instants[i + 1] ?? to) >= from) known = true;
    if (!((before === '0' && after === '1') || (before === '1' && after === '0'))) continue;
    if (instants[i]! < from || instants[i]! > to) continue;
    mid.push(instants[i]!);
    rising.push(after === '1' ? 1 : 0);
    sample.push(i);
    stretch.push(run);
  }
  const level = (value: number): Estimate => ({ value, uncertainty: 0, count: states.length });
  const levels: StateLevels = {
    method: 'given',
    ...{ low: level(0), high: level(1), amplitude: level(1), states: [] },
    ...{ noise: 0, quantum: 1, minimum: 0, maximum: 1, count: states.length },
  };
  const at = Float64Array.from(mid);
  return {
    ...{ count: mid.length, rising: Uint8Array.from(rising), mid: at, begin: at, end: at },
    ...{ sample: Uint32Array.from(sample), stretch: Uint32Array.from(stretch) },
    instantNoise: 0,
    // Uniform over the interval.
    instantResolution: shortest < Number.POSITIVE_INFINITY ? shortest / Math.sqrt(12) : 0,
    ...{ levels, down: 0, up: 1 },
    ...(mid.length > 0 ? {} : { reason: known ? 'one level only' : 'no samples' }),
  };
}

/** Logic traces: from an analogue one, their states, their edges. */

import { type EdgeOptions, edgesOf } from './edges.ts';
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

import type { Capture } from '../capture/index.ts';
import { instantAt, type LogicTrace, type Trace } from '../waveform/index.ts';
import type { Tables } from './tables.ts';

/** States that are written or read as one text. */
const AT_ONCE = 4096;

/** What is known of a channel beside its samples. */
export type SeriesFacts = Omit<Tables['capture_series'], 'id' | 'capture' | 'channel'>;

/**
 * A channel as bytes, in pieces. Of a trace: the stamps, where it has some, as doubles, then the values as singles. Of a logic
 * channel: the instants as doubles, then the states, `width` letters each. Least significant byte first.
 */
export interface Series {
  readonly facts: SeriesFacts;
  readonly bytes: Iterable<Uint8Array>;
}

/** The channels of a capture in the order of the file: traces, then logic. */
export function seriesOf({ traces, logic }: Capture): Series[] {
  return [...traces.map(traceSeries), ...logic.map(logicSeries)];
}

function traceSeries({ name, unit, timebase, values }: Trace): Series {
  const [low, high] = extremes(values);
  const stamped = 'stamps' in timebase;
  return {
    facts: {
      ...{ kind: 'trace', name, unit, width: 0, samples: values.length, low, high },
      first: instantAt(timebase, 0),
      last: instantAt(timebase, values.length - 1),
      step: stamped ? null : timebase.step,
    },
    bytes: [...(stamped ? [bytesOf(timebase.stamps)] : []), bytesOf(values)],
  };
}

function logicSeries({ name, width, instants, states, end }: LogicTrace): Series {
  return {
    facts: {
      ...{ kind: 'logic', name, unit: '', width, samples: instants.length, low: null, high: null },
      ...{ first: instants[0] ?? end, last: end, step: null },
    },
    bytes: logicBytes(instants, states),
  };
}

function* logicBytes(instants: Float64Array, states: readonly string[]): Generator<Uint8Array> {
  yield bytesOf(instants);
  const encoder = new TextEncoder();
  // All of them in one text may be longer than a text can be.
  for (let i = 0; i < states.length; i += AT_ONCE)
    yield encoder.encode(states.slice(i, i + AT_ONCE).join(''));
}

/** The trace of a channel from all of its bytes. */
export function traceOf(facts: SeriesFacts, bytes: Uint8Array): Trace | LogicTrace {
  const { kind, name, unit, width, samples, first, last, step } = facts;
  const doubles = kind === 'logic' || step === null ? new Float64Array(samples) : new Float64Array(0);
  bytesOf(doubles).set(bytes.subarray(0, doubles.byteLength));
  const rest = bytes.subarray(doubles.byteLength);
  if (kind === 'logic') {
    return { name, width, instants: doubles, states: [...statesOf(rest, width)], end: last };
  }
  const values = new Float32Array(samples);
  bytesOf(values).set(rest);
  return { name, unit, timebase: step === null ? { stamps: doubles } : { start: first, step }, values };
}

/** The states in their letters, a few at a time. */
export function* statesOf(letters: Uint8Array, width: number): Generator<string> {
  const decoder = new TextDecoder();
  for (let at = 0; at < letters.length; at += AT_ONCE * width) {
    const text = decoder.decode(letters.subarray(at, at + AT_ONCE * width));
    for (let i = 0; i < text.length; i += width) yield text.slice(i, i + width);
  }
}

/** Smallest and largest; null where there is no number. */
function extremes(values: Float32Array): [number | null, number | null] {
  let [low, high] = [Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY];
  for (const value of values) {
    if (value - value !== 0) continue;
    if (value < low) low = value;
    if (value > high) high = value;
  }
  return low > high ? [null, null] : [low, high];
}

function bytesOf(numbers: Float64Array | Float32Array): Uint8Array {
  return new Uint8Array(numbers.buffer, numbers.byteOffset, numbers.byteLength);
}

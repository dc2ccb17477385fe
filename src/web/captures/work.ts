/** What is asked of the worker, and what it answers. */

import type {
  Alignment,
  BitDifference,
  Comparison,
  LogicTrace,
  NoAlignment,
  NoComparison,
  StateDifference,
  TimeMap,
  TimeWindow,
  Trace,
} from '../../waveform/index.ts';
import type { Quantity } from './quantities.ts';

export type AnyTrace = Trace | LogicTrace;

export function isLogic(trace: AnyTrace): trace is LogicTrace {
  return 'states' in trace;
}

/** How a twin is laid on the first. */
export type Aligning = 'trigger' | 'edges' | 'likeness';

export interface FrameChoice {
  /** Of the capture that the traces are of; absent: an even bit period. */
  readonly clock?: string;
  readonly twinClock?: string;
  readonly edge: 'rising' | 'falling';
  /** Seconds. */
  readonly period: number;
  readonly start: number;
  readonly length: number;
  readonly order: 'least significant first' | 'most significant first';
}

/** Words of a trace, bits in the order of time as well. */
export interface FoundWord {
  readonly bits: string;
  readonly inTime: string;
  readonly instants: Float64Array;
}

export interface Tasks {
  /** Samples of a channel, as the server keeps them. */
  readonly samples: {
    readonly ask: { url: string; key: string; name: string; unit: string };
    readonly answer: AnyTrace;
  };
  readonly quantities: {
    readonly ask: {
      key: string;
      window: TimeWindow | undefined;
      from: readonly { point: string; key: string }[];
    };
    readonly answer: readonly Quantity[];
  };
  readonly alignment: {
    readonly ask: { first: string; second: string; how: Aligning; rate: number };
    readonly answer: Alignment | NoAlignment;
  };
  readonly comparison: {
    readonly ask: {
      first: string;
      second: string;
      map: TimeMap;
      volts: number | undefined;
      seconds: number | undefined;
    };
    readonly answer: Comparison | NoComparison;
  };
  readonly difference: {
    readonly ask: { first: string; second: string; map: TimeMap };
    readonly answer: Trace;
  };
  readonly states: {
    readonly ask: { first: string; second: string; map: TimeMap; tolerance: number };
    readonly answer: readonly StateDifference[];
  };
  readonly words: {
    readonly ask: { first: string; second: string | undefined; map: TimeMap; frame: FrameChoice };
    readonly answer:
      | {
          first: FoundWord[];
          second: FoundWord[];
          differences: readonly BitDifference[];
          count: number;
          undecided: number;
        }
      | { fault: string };
  };
}

export type TaskName = keyof Tasks;

export interface Asked<T extends TaskName = TaskName> {
  readonly id: number;
  readonly task: T;
  readonly ask: Tasks[T]['ask'];
}

/** A trace that this worker has not had yet. */
export interface Handed {
  readonly key: string;
  readonly trace: AnyTrace;
}

export type Told =
  | { readonly id: number; readonly answer: unknown }
  | { readonly id: number; readonly failed: string }
  | { readonly id: number; readonly done: number; readonly total: number };

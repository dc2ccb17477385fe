/** The shape of what is told of the signal flow. */

export interface FlowView {
  readonly revision: number;
  /** Every net that is driven, signals and supplies, in the order in which stages drive them. */
  readonly points: readonly FlowPointView[];
  /** The way back from the point asked for, the nearest first; empty when none is. Each stands in `points`, but for one that nothing drives. */
  readonly way: readonly { readonly point: string; readonly depth: number }[];
  /** The smallest first. */
  readonly loops: readonly FlowLoopView[];
  /** Where flow.csv and the wiring do not agree, a sentence each. */
  readonly contradictions: readonly string[];
  /** What the unit's readings say; null when no unit is asked for. */
  readonly answer: FlowAnswerView | null;
  /** Goes with every place. */
  readonly caution: string;
}

export interface FlowPointView {
  readonly point: string;
  /** Of the stage that drives it; empty for a rail and for what comes from outside. */
  readonly board: string;
  readonly drivenBy: string;
  /** What it follows; `certain` is false where it may be the other way round. */
  readonly from: readonly { readonly point: string; readonly by: string; readonly certain: boolean }[];
  /** Where it comes in from outside; else empty. */
  readonly outside: string;
  /** Of the unit, over all states: null when it was not read. */
  readonly looks: { readonly good: number; readonly bad: number } | null;
  readonly caution: string;
}

export interface FlowLoopView {
  readonly points: readonly string[];
  /** What makes it up. */
  readonly words: string;
  /** Why it is neither opened nor held; else empty. */
  readonly closed: string;
  /** Whether all of it that was read of the unit looks bad in some state. */
  readonly bad: boolean;
  readonly rings: readonly {
    readonly points: readonly string[];
    readonly places: readonly { readonly words: string; readonly caution: string }[];
  }[];
}

export interface FlowAnswerView {
  readonly readings: number;
  readonly bad: number;
  /** Stages with good inputs and a bad output, a sentence each. */
  readonly named: readonly string[];
  /** Bad outputs of whose inputs some were not read, a sentence each. */
  readonly open: readonly string[];
  /** Loops in which all looks bad, a sentence each. */
  readonly loops: readonly string[];
  /** Stages still in question. */
  readonly candidates: number;
  readonly next: readonly {
    readonly state: string;
    readonly point: string;
    readonly bad: number;
    readonly good: number;
  }[];
}

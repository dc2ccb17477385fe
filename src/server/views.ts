/**
 * The shapes of the answers that are reckoned, and of what is told unasked. The page takes the types from here, so that both sides
 * speak of the same thing.
 *
 * Volts, degrees Celsius, minutes; times are ISO 8601. A state is what the folder calls a condition.
 */
import type { MachineEntry, RemovedMachine, SheetName } from '../records/index.ts';

/** How every refusal reads. */
export interface Refusal {
  readonly error: {
    /** Stable. */
    readonly code: string;
    readonly message: string;
    /** The field of the request that is wrong. */
    readonly field?: string;
    /** What is wrong with a folder. */
    readonly findings?: readonly FindingView[];
    /** Of a conflict: what stands there now. */
    readonly now?: unknown;
  };
}

export type { MachineEntry, RemovedMachine, SheetName };

export interface FindingView {
  readonly severity: 'error' | 'warning';
  readonly code: string;
  readonly file: string;
  readonly message: string;
  readonly found: string | null;
  readonly column: string | null;
  /** Row as a spreadsheet counts, the header being 1. */
  readonly line: number | null;
  /** Row of the sheet; null where the finding is of the file as a whole. */
  readonly row: number | null;
}

/** How far the fault table of a machine is. Without a traced circuit there is none to compute, and it is ready at once. */
export interface TableView {
  readonly state: 'none' | 'working' | 'ready' | 'failed';
  /** Solves; 0 of 0 before the first report. */
  readonly done: number;
  readonly total: number;
  /** Why it failed, or was stopped; else empty. */
  readonly message: string;
}

export interface MachineView {
  readonly id: number;
  readonly revision: number;
  readonly name: string;
  readonly summary: string;
  /** Six hexadecimal digits of the description: the same as long as no part, wire, state or point is changed. */
  readonly mark: string;
  readonly reference: string;
  readonly ambient: number;
  readonly units: readonly { readonly id: string; readonly health: 'healthy' | 'faulty' | 'unknown' }[];
  readonly instruments: readonly {
    readonly id: string;
    readonly ohms: number;
    readonly gain: number;
    readonly random: number;
    readonly volts: number;
  }[];
  /** Supplies that share one axis, from the most negative rail (or 0) to the most positive (or 0). */
  readonly families: readonly {
    readonly from: number;
    readonly to: number;
    readonly rails: readonly { readonly net: string; readonly volts: number }[];
  }[];
  readonly states: readonly {
    readonly name: string;
    readonly steps: string;
    readonly note: string;
    /** Whether it moves: what is seen there is a waveform. */
    readonly runs: boolean;
  }[];
  readonly boards: readonly {
    readonly name: string;
    readonly caution: string;
    readonly note: string;
    /** Whether a circuit can be computed. */
    readonly traced: boolean;
  }[];
  /** In signal order. */
  readonly points: readonly PointView[];
  readonly findings: readonly FindingView[];
  readonly table: TableView;
}

export interface PointView {
  readonly point: string;
  readonly net: string;
  /** Empty for a net that is on no board. */
  readonly board: string;
  /** The stage's name, or the board's. */
  readonly group: string;
  readonly minutes: number;
  readonly note: string;
  /** Empty when nothing is known; that does not make it safe. */
  readonly caution: string;
  /** Whether the caution must be confirmed before a reading is asked for: high voltage, mains. */
  readonly gated: boolean;
  /** Index into `families`. */
  readonly family: number;
}

export interface LevelView {
  readonly value: number;
  /** Standard deviation, the meter's error included. */
  readonly sigma: number;
}

export type VerdictView = 'sound' | 'doubtful' | 'departs';

export interface BenchRow {
  readonly point: string;
  /** What a sound unit would read, all that the healthy unit has taught included. */
  readonly sound: LevelView | null;
  /** What the drawing alone says, where that is four spreads or more away from `sound`. */
  readonly drawing: LevelView | null;
  /** Whether the circuit computes nothing here and `sound` is what a healthy unit reads, with a stated spread. */
  readonly learnt: boolean;
  /** Readings of other units, newest of each. */
  readonly twins: readonly { readonly unit: string; readonly value: number; readonly id: number }[];
  readonly reading: {
    readonly id: number;
    readonly value: number;
    /** As it was typed. */
    readonly text: string;
    readonly takenAt: string;
    readonly instrument: string;
    readonly ambient: number | null;
    /** Taken for a slip of the probe. */
    readonly setAside: boolean;
  } | null;
  /** Spreads between reading and sound level, positive when the reading is the more positive. */
  readonly off: number | null;
  readonly verdict: VerdictView | null;
}

export interface BenchView {
  readonly revision: number;
  readonly unit: string;
  readonly state: string;
  readonly rows: readonly BenchRow[];
  /** No operating point was found for the state: the nets that hold out. */
  readonly noPoint: readonly string[] | null;
  /** The sound circuit does not hold the state that the hints name. */
  readonly stateLost: boolean;
}

export interface ReasonView {
  readonly state: string;
  readonly point: string;
  readonly value: number;
  readonly sound: number;
  readonly soundSigma: number;
  readonly fault: number;
  readonly faultSigma: number;
  /** Of what is told of a waveform: what it is, and the figures in words; left out for a level, in volts. */
  readonly wave?: {
    readonly quantity: string;
    readonly value: string;
    readonly sound: string;
    readonly fault: string;
  };
  /** Natural log of p(reading | this fault) / p(reading | sound): positive speaks for it. */
  readonly weight: number;
}

export interface SuspectView {
  /** `PART:MODE`, two of them joined by ` + ` for a double fault. */
  readonly key: string;
  readonly parts: readonly string[];
  readonly modes: readonly string[];
  /** `QWP11, short, collector to emitter`. */
  readonly words: string;
  readonly severity: string;
  readonly probability: number;
  /** Strongest first, for and against; of the foremost suspects only. */
  readonly reasons: readonly ReasonView[];
  /** Keys of suspects that no reading at a listed point can tell from this one. */
  readonly indistinct: readonly string[];
  /** What to see before unsoldering, one for each part. */
  readonly confirm: readonly string[];
}

export interface NextView {
  readonly state: string;
  readonly point: string;
  readonly bits: number;
  readonly minutes: number;
  readonly caution: string;
  readonly shows: readonly { readonly key: string; readonly value: number; readonly sigma: number }[];
}

export interface SuspectsView {
  readonly revision: number;
  readonly unit: string;
  /** The reading that this is a preview of; null for what is on record. */
  readonly preview: { readonly state: string; readonly point: string; readonly value: number } | null;
  /** Until it is ready all that follows is empty or zero. */
  readonly table: TableView;
  /** Most probable first; with `others`, `sound` and `unexplained` they add up to one. */
  readonly suspects: readonly SuspectView[];
  readonly others: { readonly count: number; readonly probability: number };
  readonly unexplained: number;
  readonly sound: number;
  /** Keys that no further reading can part; empty while one can. */
  readonly group: readonly string[];
  readonly setAside: readonly {
    readonly state: string;
    readonly point: string;
    readonly value: number;
    readonly reason: string;
  }[];
  /** Where the healthy units contradict the drawing. */
  readonly drawing: readonly {
    readonly part: string;
    readonly points: readonly string[];
    readonly text: string;
  }[];
  readonly notes: readonly string[];
  readonly next: readonly NextView[];
}

export interface WhatIfView {
  readonly revision: number;
  readonly part: string;
  readonly mode: string;
  readonly words: string;
  /** The furthest from sound first. */
  readonly rows: readonly {
    readonly state: string;
    readonly point: string;
    readonly sound: LevelView;
    readonly fault: LevelView;
    /** Spreads, never negative. */
    readonly off: number;
  }[];
  /** States without an operating point under the fault. */
  readonly noPoint: readonly string[];
  readonly stateLost: readonly string[];
}

/** A set of readings: those of one unit, or of one unit on one day, `unit@2024-03-16`. */
export interface ReadingSet {
  readonly key: string;
  readonly unit: string;
  /** Empty for all days together. */
  readonly date: string;
  readonly readings: number;
}

export interface CompareView {
  readonly revision: number;
  readonly left: ReadingSet;
  readonly right: ReadingSet;
  /** All sets that can be chosen. */
  readonly sets: readonly ReadingSet[];
  /** Points that were read in either set, in signal order within each state. */
  readonly rows: readonly {
    readonly state: string;
    readonly point: string;
    readonly left: { readonly value: number; readonly takenAt: string } | null;
    readonly right: { readonly value: number; readonly takenAt: string } | null;
    /** What the right one would read if sound, with the left set for the healthy one. */
    readonly expected: LevelView | null;
    readonly off: number | null;
    readonly verdict: VerdictView | null;
  }[];
}

/** A reading against what a sound unit would read there. */
export interface JudgedReading {
  readonly id: number;
  readonly value: number;
  /** Empty when nobody has said. */
  readonly takenAt: string;
  /** Spreads, positive when it is the more positive. */
  readonly off: number;
  readonly verdict: VerdictView;
}

export interface RepairView {
  readonly revision: number;
  readonly unit: string;
  /** Every point at which the unit departed in the time asked for, by state. */
  readonly rows: readonly {
    readonly state: string;
    readonly point: string;
    readonly sound: LevelView;
    readonly learnt: boolean;
    /** The reading that was the furthest off. */
    readonly departed: JudgedReading;
    /** The last one; the same one when the point was not read again. */
    readonly now: JudgedReading;
  }[];
  /** Of the unit in that time. */
  readonly readings: number;
}

/** What `GET /api/events` sends, one JSON object an event. */
export type EventView =
  | {
      readonly kind: 'changed';
      readonly machines: readonly { readonly id: number; readonly revision: number }[];
    }
  | { readonly kind: 'table'; readonly machine: number; readonly table: TableView }
  | {
      /** How far the file of a capture is read. */
      readonly kind: 'reading';
      readonly machine: number;
      readonly file: string;
      /** Bytes. */
      readonly done: number;
      readonly total: number;
    };

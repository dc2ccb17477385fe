import type { CaptureWish } from '../capture/index.ts';
import type { Health, LogKind, Rail, Unit } from '../machine/index.ts';
import { InputError } from './input-error.ts';

/** The sheets of a machine that a person edits in a grid. */
export type SheetName =
  | 'parts'
  | 'types'
  | 'conditions'
  | 'states'
  | 'points'
  | 'boards'
  | 'flow'
  | 'readings';

/** That a machine was changed, by whatever process. */
export interface ChangedMachine {
  readonly id: number;
  /** The number of the last change. */
  readonly revision: number;
}

export interface MachineEntry {
  readonly id: number;
  readonly name: string;
  readonly summary: string;
  /** Grows with every change to the machine, whatever it is: the number of the change. */
  readonly revision: number;
  /** Grows with the changes that expectations depend on: all but readings, log, photographs and placements. */
  readonly wiring: number;
  readonly units: readonly Unit[];
  readonly boards: number;
  readonly parts: number;
  /** Those that are not withdrawn. */
  readonly readings: number;
  /** ISO 8601, UTC. */
  readonly changedAt: string;
}

/** A machine that was taken away; `undo` of it brings it back. */
export interface RemovedMachine {
  readonly id: number;
  readonly name: string;
  /** ISO 8601, UTC. */
  readonly removedAt: string;
}

/** What a person wrote into a row, by column, as typed. */
export type Cells = Readonly<Record<string, string>>;

export interface RecordRow {
  readonly id: number;
  /** Hand it back with an edit: when another one has come first, the edit is a `Conflict`. */
  readonly version: number;
  /** Every column of the sheet. */
  readonly cells: Cells;
}

export interface RecordSheet {
  /** The sheet's own columns and those that the person added, in the order in which they stand. */
  readonly columns: readonly string[];
  /** As a folder's file numbers them, the first of these is row 2. */
  readonly rows: readonly RecordRow[];
}

export type SheetEdit =
  /** A new row, last or below another one; what is left out is empty. */
  | { readonly add: Cells; readonly after?: number | undefined }
  /** These cells of a row; the others stay. */
  | { readonly row: number; readonly version: number; readonly cells: Cells }
  | { readonly remove: number; readonly version: number };

export interface Change {
  readonly id: number;
  readonly revision: number;
  /** The ids of the rows that were added, in the order of the edits. */
  readonly added: readonly number[];
}

export interface ChangeEntry {
  readonly id: number;
  readonly at: string;
  readonly what: string;
  /** The change that took it back. */
  readonly undoneBy?: number | undefined;
}

export interface Head {
  readonly version: number;
  /** machine.json, parsed; fields that the format does not know are in it. */
  readonly json: Readonly<Record<string, unknown>>;
}

export interface NewReading {
  readonly unit: string;
  readonly condition: string;
  readonly point: string;
  readonly quantity: string;
  /** As typed: `-6.1`, `340m`. */
  readonly value: string;
  readonly uncertainty?: string | undefined;
  readonly ambient?: string | undefined;
  readonly instrument?: string | undefined;
  readonly note?: string | undefined;
}

export interface RecordReading {
  readonly id: number;
  readonly unit: string;
  readonly condition: string;
  readonly point: string;
  readonly quantity: string;
  readonly value: string;
  readonly uncertainty: string;
  readonly takenAt: string;
  readonly ambient: string;
  readonly instrument: string;
  readonly note: string;
  /** A later reading of the same unit, condition, point and quantity stands. */
  readonly superseded: boolean;
  readonly withdrawn: boolean;
}

export interface ReadingChoice {
  readonly unit?: string | undefined;
  readonly condition?: string | undefined;
  readonly point?: string | undefined;
}

export interface NewLogEntry {
  readonly unit: string;
  /** ISO 8601; today where it is left out. */
  readonly date?: string | undefined;
  readonly kind: LogKind;
  readonly text: string;
  readonly points?: string | undefined;
  /** `ADD/Q3:short-ce`, several with spaces between. For kind `replaced`, the part that was changed. */
  readonly suspects?: string | undefined;
  readonly note?: string | undefined;
}

export interface LogEntry {
  /** Stands in `replaces` of the entry that supersedes this one. */
  readonly id: string;
  readonly unit: string;
  readonly date: string;
  readonly kind: string;
  readonly text: string;
  readonly points: string;
  readonly suspects: string;
  readonly replaces: string;
  readonly note: string;
  /** The id of the entry that stands in its place. */
  readonly supersededBy?: string | undefined;
  readonly withdrawn: boolean;
}

export interface PhotographFacts {
  readonly board: string;
  /** `component` or `copper` by custom; any word. */
  readonly side: string;
  readonly unit: string;
  /** ISO 8601, or empty. */
  readonly takenAt: string;
  /** Degrees clockwise: 0, 90, 180, 270. */
  readonly turn: number;
  readonly mirrored: boolean;
  readonly note: string;
}

export interface Photograph extends PhotographFacts {
  readonly id: number;
  readonly version: number;
  /** The name in `photographs/`. */
  readonly file: string;
  /** Bytes; 0 when the picture is not there. */
  readonly size: number;
}

export interface Placement {
  readonly id: number;
  readonly board: string;
  readonly side: string;
  /** On whose pictures; empty for those of every unit that has no place of its own for the mark. */
  readonly unit: string;
  /** A point, a pin or a part. */
  readonly mark: string;
  /** Shares of the unturned picture, 0 to 1. */
  readonly x: number;
  readonly y: number;
}

/** What is said of a capture. */
export interface CaptureFacts {
  /** Empty where nobody has said; so are the others. */
  readonly unit: string;
  readonly condition: string;
  /** ISO 8601. */
  readonly takenAt: string;
  readonly instrument: string;
  readonly note: string;
}

export interface NewCapture extends Partial<CaptureFacts> {
  /** The name that the instrument gave it; it is kept under one like it. */
  readonly file: string;
  /** The point that each channel was on, in the order of the file, or how to tell them by the channels' names; empty for none. */
  readonly points?: readonly string[] | ((names: readonly string[]) => readonly string[]) | undefined;
  /** How it is to be read, where a person has said; else as files of the instrument were read last. */
  readonly wish?: Omit<CaptureWish, 'kept'> | undefined;
}

export interface CaptureChannel {
  /** From 0. */
  readonly index: number;
  /** As the file names it. */
  readonly name: string;
  /** `V`, `A`, or empty where the file does not say. */
  readonly unit: string;
  /** Empty for none. */
  readonly point: string;
  readonly kind: 'trace' | 'logic';
  /** Bits of a logic channel; 0 of a trace. */
  readonly width: number;
  /** Samples of a trace, instants of a logic channel. */
  readonly samples: number;
  /** Seconds from the trigger of the first sample and of the last; of a logic channel, where its last state ends. */
  readonly start: number;
  readonly end: number;
  /** Seconds from sample to sample; null where each has its own instant. */
  readonly step: number | null;
  /** null where there is no number, and of logic channels. */
  readonly min: number | null;
  readonly max: number | null;
}

export interface CaptureEntry extends CaptureFacts {
  readonly id: number;
  readonly version: number;
  /** The name in `captures/`. */
  readonly file: string;
  readonly kind: 'text' | 'wav' | 'vcd';
  /** Bytes; 0 when the file is not there. */
  readonly size: number;
  readonly channels: readonly CaptureChannel[];
}

/** A channel's samples as they are kept: see `seriesOf`. */
export interface CaptureSamples {
  readonly channel: CaptureChannel;
  /** Of all pieces together. */
  readonly size: number;
  readonly pieces: Iterable<Uint8Array>;
}

export interface NewBoard {
  readonly name: string;
  /** `3=STEP` is pin 3 on net STEP; `STEP` alone is that net on the pin of its place in the list. */
  readonly pins: readonly string[];
  /** Where a probe can go beside the contacts: `TP1`, or `TP1=STEP` where it is on a net that another board has, too. */
  readonly testPoints?: readonly string[] | undefined;
  /** Nets that the board takes in and puts out, where that is known: without it nobody can tell which of two boards is bad. */
  readonly inputs?: readonly string[] | undefined;
  readonly outputs?: readonly string[] | undefined;
  readonly caution?: string | undefined;
}

export interface NewMachine {
  readonly name: string;
  readonly summary?: string | undefined;
  readonly reference: string;
  /** °C; 22 where it is left out. */
  readonly ambient?: number | undefined;
  readonly rails: readonly (Pick<Rail, 'net' | 'volts'> & { readonly tolerance?: number | undefined })[];
  readonly units: readonly { readonly id: string; readonly health: Health }[];
  readonly boards: readonly NewBoard[];
  readonly points?: readonly { readonly point: string; readonly note?: string; readonly caution?: string }[];
  readonly states?: readonly { readonly name: string; readonly steps?: string | undefined }[];
}

/** The edit was made on something that has been changed since; nothing was overwritten. */
export class Conflict extends InputError {
  /** What stands there now; `undefined` when it has been removed. */
  readonly standing: RecordRow | Head | undefined;

  constructor(message: string, standing: RecordRow | Head | undefined) {
    super('conflict', message);
    this.standing = standing;
  }
}

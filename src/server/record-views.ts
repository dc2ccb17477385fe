/** The shapes of answers that say what stands in the record: readings, sheets, log, photographs, changes. */
import type { SheetName } from '../records/index.ts';
import type { FindingView } from './views.ts';

/** A change as the list of changes and the answer to a write give it. */
export interface ChangeView {
  readonly id: number;
  readonly at: string;
  /** In words. */
  readonly what: string;
  /** The change that took this one back; null when it stands. */
  readonly undoneBy: number | null;
}

export interface ReadingView {
  readonly id: number;
  readonly unit: string;
  readonly state: string;
  readonly point: string;
  readonly quantity: string;
  /** As it was typed. */
  readonly text: string;
  /** null when it is no value. */
  readonly value: number | null;
  readonly uncertainty: string;
  readonly ambient: string;
  readonly instrument: string;
  readonly takenAt: string;
  readonly note: string;
  readonly standing: 'counts' | 'superseded' | 'withdrawn';
}

export interface TakenView {
  readonly reading: number;
  readonly revision: number;
  readonly value: number;
}

export interface SheetView {
  readonly revision: number;
  readonly sheet: SheetName;
  readonly columns: readonly string[];
  readonly rows: readonly {
    readonly id: number;
    readonly version: number;
    readonly cells: Readonly<Record<string, string>>;
  }[];
  /** Of this sheet. */
  readonly findings: readonly FindingView[];
}

export interface HeadView {
  readonly revision: number;
  readonly version: number;
  /** machine.json, parsed, fields that the format does not know included. */
  readonly json: Readonly<Record<string, unknown>>;
  readonly findings: readonly FindingView[];
}

export interface LogEntryView {
  readonly id: string;
  readonly unit: string;
  readonly date: string;
  readonly kind: string;
  readonly text: string;
  readonly points: readonly string[];
  readonly suspects: readonly string[];
  /** The entry that this one supersedes; empty for none. */
  readonly replaces: string;
  /** Whether a later entry supersedes this one. */
  readonly superseded: boolean;
  readonly withdrawn: boolean;
  readonly note: string;
}

export interface PhotographView {
  readonly id: number;
  readonly version: number;
  readonly file: string;
  /** Bytes; 0 when the picture itself is not there. */
  readonly size: number;
  readonly board: string;
  readonly side: string;
  readonly unit: string;
  readonly takenAt: string;
  readonly turn: number;
  readonly mirrored: boolean;
  readonly note: string;
}

export interface PlacementView {
  readonly board: string;
  readonly side: string;
  /** On whose pictures; empty for those of every unit that has no place of its own for the mark. */
  readonly unit: string;
  /** Point, pin or part. */
  readonly mark: string;
  /** Shares 0 to 1 of the unturned picture. */
  readonly x: number;
  readonly y: number;
}

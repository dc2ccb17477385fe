import type { Generated } from 'kysely';

/** The tables of the record as queries see them; their making is in migrations/. */
export interface Tables {
  machines: {
    id: Generated<number>;
    name: string;
    /** machine.json as it stands. */
    head: string;
    /** The change that wrote `head` last. */
    version: number;
    revision: number;
    wiring: number;
    /** JSON: for each sheet its headings in order, where the machine has that sheet. */
    columns: string;
    changed_at: string;
    withdrawn: number | null;
  };
  changes: {
    id: Generated<number>;
    machine: number;
    at: string;
    what: string;
    undoes: number | null;
    undone_by: number | null;
  };
  change_rows: {
    id: Generated<number>;
    change: number;
    table: string;
    row: number;
    /** JSON of the columns that were changed as they stood; null for a row that was added. */
    before: string | null;
  };
  parts: SheetTable & { board: string };
  types: SheetTable;
  conditions: SheetTable & { condition: string };
  states: SheetTable & { condition: string };
  points: SheetTable;
  boards: SheetTable & { board: string };
  flow: SheetTable & { board: string };
  readings: SheetTable & {
    unit: string;
    condition: string;
    point: string;
    quantity: string;
    value: string;
    uncertainty: string;
    taken_at: string;
    ambient: string;
    instrument: string;
    note: string;
  };
  log: SheetTable & {
    /** The entry's id in log.csv. */
    id_text: string;
    unit: string;
    date: string;
    kind: string;
    text: string;
    points: string;
    suspects: string;
    replaces: string;
    note: string;
  };
  photographs: SheetTable & { file: string };
  placements: SheetTable & { board: string; side: string; mark: string; unit: string };
  captures: SheetTable & { file: string; understanding: string };
  capture_channels: SheetTable & { file: string; channel: string; point: string };
  /** Files in captures/ whose rows stand, or stood. */
  capture_files: {
    id: Generated<number>;
    machine: number;
    file: string;
    kind: 'text' | 'wav' | 'vcd';
    /** Bytes of the file. */
    size: number;
  };
  /** Their channels as they were read. */
  capture_series: {
    id: Generated<number>;
    capture: number;
    /** From 1. */
    channel: number;
    kind: 'trace' | 'logic';
    name: string;
    unit: string;
    /** Bits of a logic channel; 0 of a trace. */
    width: number;
    samples: number;
    first: number;
    last: number;
    step: number | null;
    low: number | null;
    high: number | null;
  };
  /** Of the file itself, channel 0, and of its channels. */
  capture_pieces: {
    id: Generated<number>;
    capture: number;
    channel: number;
    part: number;
    packed: 0 | 1;
    bytes: Uint8Array;
  };
  /** How files of an instrument were read last. */
  capture_forms: { key: string; used: number; form: string };
  attachments: { id: Generated<number>; machine: number; path: string; bytes: Uint8Array };
  fault_tables: { key: string; size: number; used: number; bytes: Uint8Array };
}

/** What all sheets have beside their own columns. */
export interface SheetTable {
  id: Generated<number>;
  machine: number;
  position: number;
  /** The change that wrote the row last. */
  version: number;
  /** The change that took it away. */
  withdrawn: number | null;
  /** JSON: cells of columns that the format does not know. */
  extra: string;
}

import type { CaptureSamples } from '../records/index.ts';
import type { AboutCapture, CaptureChange, UnderstoodQuery } from './capture-requests.ts';
import type { CaptureEntry, TakenCapture, UnderstoodView } from './capture-views.ts';
import type { FlowView } from './flow-views.ts';
import type {
  ChangeView,
  HeadView,
  LogEntryView,
  PhotographView,
  PlacementView,
  ReadingView,
  SheetView,
  TakenView,
} from './record-views.ts';
import type { NewLogEntry, NewMachine, NewReading, PhotographChange, SheetEdit } from './requests.ts';
import type {
  BenchView,
  CompareView,
  EventView,
  MachineEntry,
  MachineView,
  RemovedMachine,
  RepairView,
  SheetName,
  SuspectsView,
  TableView,
  WhatIfView,
} from './views.ts';
import type { WavesView } from './wave-views.ts';

/** A value that is there already, or will be. */
type Soon<T> = T | Promise<T>;

/**
 * What the routes ask for, one method for each. A refusal is an `InputError`; what is not there is one with a code that begins
 * with `no-` or `unknown-`.
 */
export interface Workshop {
  machines(): Soon<readonly MachineEntry[]>;
  removedMachines(): Soon<readonly RemovedMachine[]>;
  createMachine(machine: NewMachine): Soon<MachineEntry>;
  importMachine(files: ReadonlyMap<string, Uint8Array>, name?: string): Soon<MachineEntry>;
  exportMachine(id: number): Soon<{ name: string; files: ReadonlyMap<string, Uint8Array> }>;
  removeMachine(id: number): Soon<ChangeView>;
  machine(id: number): Soon<MachineView>;
  bench(id: number, query: { unit: string; against?: string | undefined; state: string }): Soon<BenchView>;
  suspects(
    id: number,
    unit: string,
    preview?: { state: string; point: string; value: string },
  ): Soon<SuspectsView>;
  whatIf(id: number, fault: string, state?: string): Soon<WhatIfView>;
  startTable(id: number): Soon<TableView>;
  stopTable(id: number): Soon<TableView>;
  takeReading(id: number, reading: NewReading): Soon<TakenView>;
  withdrawReading(id: number, reading: number): Soon<ChangeView>;
  readings(
    id: number,
    query: { unit?: string | undefined; state?: string | undefined; point?: string | undefined },
  ): Soon<readonly ReadingView[]>;
  sheet(id: number, sheet: SheetName): Soon<SheetView>;
  changeSheet(id: number, sheet: SheetName, edits: readonly SheetEdit[], what: string): Soon<SheetView>;
  head(id: number): Soon<HeadView>;
  changeHead(
    id: number,
    version: number,
    json: Readonly<Record<string, unknown>>,
    what: string,
  ): Soon<HeadView>;
  compare(id: number, left: string, right: string): Soon<CompareView>;
  /** With a unit how its readings look; with a point the way back from it. */
  flow(id: number, query: { unit?: string | undefined; point?: string | undefined }): Soon<FlowView>;
  /** Predicted waveforms of a running state, of all points that move where none are named. @param signal  nobody waits any longer */
  waves(
    id: number,
    query: { state: string; points?: readonly string[] | undefined; fault?: string | undefined },
    signal: AbortSignal,
  ): Soon<WavesView>;
  repair(
    id: number,
    query: { unit: string; from?: string | undefined; until?: string | undefined },
  ): Soon<RepairView>;
  log(
    id: number,
    query: { unit?: string | undefined; search?: string | undefined },
  ): Soon<readonly LogEntryView[]>;
  addLogEntry(id: number, entry: NewLogEntry): Soon<LogEntryView>;
  supersedeLogEntry(id: number, old: string, entry: NewLogEntry): Soon<LogEntryView>;
  photographs(id: number): Soon<readonly PhotographView[]>;
  photographBytes(id: number, photograph: number): Soon<Uint8Array>;
  addPhotograph(id: number, photograph: NewPhotograph): Soon<PhotographView>;
  changePhotograph(id: number, photograph: number, change: PhotographChange): Soon<PhotographView>;
  removePhotograph(id: number, photograph: number): Soon<ChangeView>;
  placements(id: number): Soon<readonly PlacementView[]>;
  place(id: number, placement: PlacementView): Soon<ChangeView>;
  unplace(id: number, placement: Omit<PlacementView, 'x' | 'y'>): Soon<ChangeView>;
  captures(id: number): Soon<readonly CaptureEntry[]>;
  understoodCapture(id: number, head: Uint8Array, query: UnderstoodQuery): Soon<UnderstoodView>;
  /** @param total  bytes to come; 0 when nobody has said */
  addCapture(
    id: number,
    about: AboutCapture,
    pieces: AsyncIterable<Uint8Array>,
    total: number,
  ): Soon<TakenCapture>;
  changeCapture(id: number, capture: number, change: CaptureChange): Soon<CaptureEntry>;
  removeCapture(id: number, capture: number): Soon<ChangeView>;
  captureSamples(id: number, capture: number, index: number): Soon<CaptureSamples>;
  changes(id: number, limit?: number): Soon<readonly ChangeView[]>;
  /** The change that was taken back; null when there is none left to take back. */
  undo(id: number): Soon<ChangeView | null>;
  backup(to?: string): Soon<{ readonly file: string; readonly bytes: number }>;
  /** @returns  stops listening */
  onEvent(listener: (event: EventView) => void): () => void;
}

export interface NewPhotograph {
  readonly file?: string | undefined;
  readonly board: string;
  readonly side: string;
  readonly unit?: string | undefined;
  readonly takenAt?: string | undefined;
  readonly note?: string | undefined;
  readonly bytes: Uint8Array;
}

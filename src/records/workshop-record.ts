import {
  type GivenForm,
  type TextUnderstanding,
  type UnderstoodCapture,
  understoodCapture,
} from '../capture/index.ts';
import { type Finding, formatFindings, type Machine, readMachine } from '../machine/index.ts';
import type { LogicTrace, Trace } from '../waveform/index.ts';
import { backupRecord } from './backup.ts';
import { importedCaptures } from './capture-import.ts';
import { type ByteSource, takenIn } from './capture-intake.ts';
import {
  addCapture,
  captureSamples,
  capturesOf,
  captureTrace,
  changeCapture,
  checkCapture,
  keptScale,
  keptUnderstanding,
  rememberingWish,
  withdrawCapture,
} from './capture-store.ts';
import { keepTable, keptTable } from './fault-table-store.ts';
import { InputError } from './input-error.ts';
import { Journal, machineRow, WIRED_TABLES } from './journal.ts';
import { checkStands, type LogChoice, logEntries, writeLogEntry } from './log-store.ts';
import {
  addMachine,
  folderOf,
  folderPieces,
  headOf,
  headText,
  machineEntries,
  removedEntries,
  settleName,
  takenNames,
} from './machine-store.ts';
import { newMachineFiles } from './new-machine.ts';
import {
  addPicture,
  changePicture,
  type MarkPlace,
  type NewPhotograph,
  photographsOf,
  pictureBytes,
  placeMark,
  placementsOf,
  removeMark,
  withdrawPicture,
} from './picture-store.ts';
import { addReading, recordReadings, withdrawReading } from './reading-store.ts';
import {
  type CaptureEntry,
  type CaptureFacts,
  type CaptureSamples,
  type Change,
  type ChangedMachine,
  type ChangeEntry,
  Conflict,
  type Head,
  type LogEntry,
  type MachineEntry,
  type NewCapture,
  type NewLogEntry,
  type NewMachine,
  type NewReading,
  type Photograph,
  type PhotographFacts,
  type Placement,
  type ReadingChoice,
  type RecordReading,
  type RecordSheet,
  type RemovedMachine,
  type SheetEdit,
  type SheetName,
} from './record-types.ts';
import { SheetFiles } from './sheet-files.ts';
import { editSheet, recordSheet } from './sheet-store.ts';
import { query, type Store } from './store.ts';

/** How often one looks for what other processes have changed. */
const LOOK_MS = 100;

type Listener = (machines: readonly ChangedMachine[]) => void;

/**
 * All that a workshop keeps: machines with their sheets, readings, log and photographs, in one file.
 *
 * Whatever changes something has reached the disk when its promise is kept, whole; when it is refused, nothing was changed.
 * Every method may refuse with an InputError: `no-machine`, `no-row`, `disk-full`, `read-only`, `record-busy`, `damaged`.
 */
export class WorkshopRecord {
  readonly path: string;
  readonly #store: Store;
  readonly #clock: () => Date;
  readonly #listeners = new Set<Listener>();
  readonly #sheets: SheetFiles;
  /** What readings are held against. */
  readonly #wired = new Map<number, { readonly wiring: number; readonly machine: Machine | undefined }>();
  readonly #looking: NodeJS.Timeout;
  #dataVersion: unknown;
  #announced: number;

  constructor(store: Store, clock: () => Date) {
    this.path = store.path;
    this.#store = store;
    this.#sheets = new SheetFiles(store);
    this.#clock = clock;
    this.#announced = this.#lastChange();
    this.#dataVersion = store.db.pragma('data_version', { simple: true });
    this.#looking = setInterval(() => this.#look(), LOOK_MS).unref();
  }

  async close(): Promise<void> {
    clearInterval(this.#looking);
    this.#listeners.clear();
    this.#store.close();
  }

  /** The machines by name. */
  async machines(): Promise<readonly MachineEntry[]> {
    return machineEntries(this.#store);
  }

  /** Machines that were taken away, the last one first; `undo` brings one back. */
  async removedMachines(): Promise<readonly RemovedMachine[]> {
    return removedEntries(this.#store);
  }

  /** One machine's entry. */
  async machine(id: number): Promise<MachineEntry> {
    machineRow(this.#store, id);
    return machineEntries(this.#store, id)[0]!;
  }

  /** The machine's folder: bytes by file name, for `readMachine`, to write out or to pack. */
  async folder(id: number): Promise<Map<string, Uint8Array>> {
    return this.#store.read(() => folderOf(this.#store, id, this.#sheets.of(id), true));
  }

  /** As `folder`, captures in pieces that are read when they are asked for: to write out. */
  async folderPieces(id: number): Promise<ReadonlyMap<string, Uint8Array | Iterable<Uint8Array>>> {
    return this.#store.read(() => folderPieces(this.#store, id, this.#sheets.of(id)));
  }

  /** As `folder`, but pictures and whatever else is not a table are there by name only, without their bytes: for reading alone. */
  async tables(id: number): Promise<Map<string, Uint8Array>> {
    return this.#store.read(() => folderOf(this.#store, id, this.#sheets.of(id), false));
  }

  /**
   * Takes a machine folder in. A machine of the same name is left alone: the new one is called `name 2`.
   *
   * @param files  bytes by name; pictures as `photographs/NAME`, captures as `captures/NAME`
   * @throws InputError  `folder` with all findings, one a line, when there is an error among them
   */
  async importFolder(
    files: ReadonlyMap<string, Uint8Array>,
    { name }: { readonly name?: string | undefined } = {},
  ): Promise<MachineEntry> {
    return this.#add(files, name);
  }

  /**
   * A machine from nothing: boards with their connectors, test points, units, states; comparing works before a part is traced.
   *
   * @throws InputError  `folder` with all findings
   */
  async createMachine(machine: NewMachine): Promise<MachineEntry> {
    return this.#add(newMachineFiles(machine), undefined, 'new machine');
  }

  /** Takes a machine away; `undo` brings it back. */
  async removeMachine(id: number): Promise<Change> {
    return this.#change(
      id,
      (name) => `remove ${name}`,
      (journal) => journal.withdraw('machines', id),
    );
  }

  async sheet(id: number, sheet: SheetName): Promise<RecordSheet> {
    return recordSheet(this.#store, id, sheet);
  }

  /**
   * Edits of a sheet as one change. What is typed is kept, sound or not: `readMachine` of the folder says what is wrong with it.
   * A row of `readings` is not overwritten: another one takes its place, and it is among `added`.
   *
   * @param what  what a person calls the change, for the list of changes
   * @throws Conflict  when a row has been changed since; nothing is done then
   * @throws InputError  `no-row`, `unknown-column`
   */
  async changeSheet(
    id: number,
    sheet: SheetName,
    edits: readonly SheetEdit[],
    what: string,
  ): Promise<Change> {
    return this.#change(id, what, (journal) => editSheet(this.#store, journal, id, sheet, edits));
  }

  async head(id: number): Promise<Head> {
    return headOf(machineRow(this.#store, id));
  }

  /**
   * Writes machine.json anew.
   *
   * @throws Conflict  when it has been changed since
   * @throws InputError  `name-taken`
   */
  async changeHead(id: number, version: number, json: Head['json'], what: string): Promise<Change> {
    return this.#change(id, what, (journal) => {
      const row = machineRow(this.#store, id);
      if (row.version !== version)
        throw new Conflict('the machine was changed in the meantime; nothing was overwritten', headOf(row));
      const name = typeof json.name === 'string' ? json.name.trim() : '';
      if (name !== row.name && takenNames(this.#store, id).has(name))
        throw new InputError('name-taken', `there is a machine ${JSON.stringify(name)} already`);
      journal.update('machines', id, { head: headText(json), name: name || row.name });
    });
  }

  /**
   * Writes a reading down, at the present time. It takes the place of an earlier one of the same point.
   *
   * @throws InputError  with the code of a finding (`not-a-number`, `unknown-unit`, `unknown-condition`, `unknown-point` …)
   */
  async takeReading(id: number, reading: NewReading): Promise<Change & { readonly reading: number }> {
    const what = `reading of ${reading.unit}, ${reading.condition}, ${reading.point}: ${reading.value}`;
    const change = await this.#change(id, what, (journal) => [
      addReading(this.#store, journal, id, reading, this.#wiring(id), this.#now()),
    ]);
    return { ...change, reading: change.added[0]! };
  }

  /** Takes a slip out of the reckoning; it stays in the history. @throws InputError  `no-reading` */
  async withdrawReading(id: number, reading: number): Promise<Change> {
    return this.#change(id, 'withdraw a reading', (journal) => {
      withdrawReading(this.#store, journal, id, reading);
    });
  }

  /** All readings that were ever taken, in the order in which they stand, of one unit, condition or point where it is named. */
  async readings(id: number, choice: ReadingChoice = {}): Promise<readonly RecordReading[]> {
    machineRow(this.#store, id);
    return recordReadings(this.#store, id, choice);
  }

  /** The log in the order in which it was written; entries that were superseded or withdrawn are marked. */
  async log(id: number, choice: LogChoice = {}): Promise<readonly LogEntry[]> {
    machineRow(this.#store, id);
    return logEntries(this.#store, id, choice);
  }

  /** @throws InputError  with the code of a finding, such as `bad-date` */
  async addLogEntry(id: number, entry: NewLogEntry): Promise<Change & { readonly entry: string }> {
    return this.#logChange(id, `log: ${entry.kind} of ${entry.unit}`, entry);
  }

  /** Puts another entry in the place of one, which stays. @throws InputError  `no-entry`, `superseded` */
  async supersedeLogEntry(
    id: number,
    old: string,
    entry: NewLogEntry,
  ): Promise<Change & { readonly entry: string }> {
    return this.#logChange(id, `log: entry ${old} superseded`, entry, old);
  }

  async photographs(id: number): Promise<readonly Photograph[]> {
    machineRow(this.#store, id);
    return photographsOf(this.#store, id);
  }

  /** The picture as it was put in. @throws InputError  `no-photograph` */
  async photographBytes(id: number, photograph: number): Promise<Uint8Array> {
    machineRow(this.#store, id);
    return pictureBytes(this.#store, id, photograph);
  }

  /** @throws InputError  `not-a-picture`, or the code of a finding */
  async addPhotograph(
    id: number,
    photograph: NewPhotograph,
  ): Promise<Change & { readonly photograph: number }> {
    const what = `photograph of ${photograph.board}, ${photograph.side}`;
    const change = await this.#change(id, what, (journal) => [
      addPicture(this.#store, journal, id, photograph),
    ]);
    return { ...change, photograph: change.added[0]! };
  }

  /** What is said of a photograph; the picture stays as it is. @throws Conflict */
  async changePhotograph(
    id: number,
    photograph: number,
    version: number,
    facts: Partial<PhotographFacts>,
  ): Promise<Change> {
    return this.#change(id, 'change a photograph', (journal) => {
      changePicture(this.#store, journal, id, photograph, version, facts);
    });
  }

  /** Takes a photograph away; `undo` brings it back. */
  async removePhotograph(id: number, photograph: number): Promise<Change> {
    return this.#change(id, 'remove a photograph', (journal) => {
      withdrawPicture(this.#store, journal, id, photograph);
    });
  }

  async placements(id: number): Promise<readonly Placement[]> {
    machineRow(this.#store, id);
    return placementsOf(this.#store, id);
  }

  /** Puts a point, pin or part onto a side of a board, or moves it there; `x`, `y` are shares of the unturned picture. */
  async place(id: number, placement: Omit<Placement, 'id'>): Promise<Change> {
    return this.#change(id, `place ${placement.mark}`, (journal) =>
      placeMark(this.#store, journal, id, placement),
    );
  }

  /** @throws InputError  `no-placement` */
  async unplace(id: number, place: MarkPlace): Promise<Change> {
    return this.#change(id, `take ${place.mark} off the picture`, (journal) => {
      removeMark(this.#store, journal, id, place);
    });
  }

  /** The captures, the newest first. */
  async captures(id: number): Promise<readonly CaptureEntry[]> {
    machineRow(this.#store, id);
    return capturesOf(this.#store, id);
  }

  /**
   * What a file that a person brings is understood to be, as files of its instrument were read last.
   *
   * @param head  its first `HEAD_BYTES`
   * @param form  separator and decimal sign, where they are known
   */
  async understoodCapture(
    head: Uint8Array,
    file: string,
    { form = {}, instrument = '' }: { readonly form?: GivenForm; readonly instrument?: string } = {},
  ): Promise<UnderstoodCapture & { readonly fullScale?: number | (number | undefined)[] | undefined }> {
    const kept = (signature: string) => keptUnderstanding(this.#store, signature);
    const understood = understoodCapture(head, file, { form, kept });
    const fullScale = understood.kind === 'wav' ? keptScale(this.#store, instrument) : undefined;
    return fullScale === undefined ? understood : { ...understood, remembered: true, fullScale };
  }

  /**
   * Reads a capture and keeps it, whole or not at all: the file as it came and its channels as they were read.
   *
   * @param source  the bytes of the file
   * @param onRead  told the bytes read until now
   * @returns and how a text was read, and what was dropped, reversed or missing
   * @throws CaptureRefusal  where the file cannot be read
   * @throws InputError  `unknown-unit`, `unknown-condition`, `unknown-point`, `unknown-channel`, `bad-date`
   */
  async addCapture(
    id: number,
    capture: NewCapture,
    source: ByteSource,
    onRead?: (bytes: number) => void,
  ): Promise<
    Change & {
      readonly capture: number;
      readonly understanding: TextUnderstanding | undefined;
      readonly findings: readonly Finding[];
    }
  > {
    const { file } = capture;
    checkCapture(capture, this.#wiring(id));
    const wish = rememberingWish(this.#store, capture);
    const taken = await takenIn(file, wish, source, onRead === undefined ? {} : { onRead });
    const now = this.#clock().getTime();
    const change = await this.#change(id, `capture ${file}`, (journal) => [
      addCapture(this.#store, journal, id, capture, taken, this.#wiring(id), now),
    ]);
    const { understanding, findings } = taken;
    return { ...change, capture: change.added[0]!, understanding, findings };
  }

  /**
   * What is said of a capture, and the points that its channels were on; the file stays as it is.
   *
   * @param version  of the entry that was seen; whatever stands, where it is left out
   * @throws Conflict
   */
  async changeCapture(
    id: number,
    capture: number,
    version: number | undefined,
    facts: Partial<CaptureFacts> & { readonly points?: readonly string[] | undefined },
  ): Promise<Change> {
    return this.#change(id, 'change a capture', (journal) => {
      changeCapture(this.#store, journal, id, capture, version, facts, this.#wiring(id));
    });
  }

  /** Takes a capture away; `undo` brings it back. @throws InputError  `no-capture` */
  async removeCapture(id: number, capture: number): Promise<Change> {
    return this.#change(id, 'remove a capture', (journal) => {
      withdrawCapture(this.#store, journal, id, capture);
    });
  }

  /**
   * A channel's samples as bytes, piece by piece as they are asked for.
   *
   * @param index  from 0
   * @throws InputError  `no-capture`, `no-channel`
   */
  async captureSamples(id: number, capture: number, index: number): Promise<CaptureSamples> {
    machineRow(this.#store, id);
    return captureSamples(this.#store, id, capture, index);
  }

  /** A channel as a whole; see `captureSamples`. */
  async captureTrace(id: number, capture: number, index: number): Promise<Trace | LogicTrace> {
    machineRow(this.#store, id);
    return captureTrace(this.#store, id, capture, index);
  }

  /** The fault table that is kept under a key; `undefined` when there is none. */
  async faultTable(key: string): Promise<Uint8Array | undefined> {
    return keptTable(this.#store, key, this.#clock().getTime());
  }

  /** Keeps a fault table; the least recently used go when all together grow beyond 256 MB. */
  async keepFaultTable(key: string, bytes: Uint8Array): Promise<void> {
    keepTable(this.#store, key, bytes, this.#clock().getTime());
  }

  /**
   * Copies the record into a new file and reads the copy back.
   *
   * @throws InputError  `there-already`, `unwritable`, `disk-full`, `damaged`
   */
  async backup(to: string): Promise<{ readonly bytes: number }> {
    return backupRecord(this.path, to);
  }

  /** The changes of a machine, the latest first. */
  async changes(id: number, limit = 50): Promise<readonly ChangeEntry[]> {
    const rows = this.#store.all(
      query.selectFrom('changes').selectAll().where('machine', '=', id).orderBy('id', 'desc').limit(limit),
    );
    return rows.map(changeEntry);
  }

  /**
   * Takes back the last change of a machine that still counts, whoever made it; called again, the one before. Works for a
   * machine that was removed, too. A reading and a log entry that are taken back stay as withdrawn.
   *
   * @returns the change that was taken back; `undefined` when there is none
   */
  async undo(id: number): Promise<ChangeEntry | undefined> {
    return this.#write(() => {
      const last = this.#store.first(
        query
          .selectFrom('changes')
          .selectAll()
          .where('machine', '=', id)
          .where('undoes', 'is', null)
          .where('undone_by', 'is', null)
          .orderBy('id', 'desc')
          .limit(1),
      );
      if (last === undefined) return undefined;
      const journal = new Journal(this.#store, id, this.#now(), `undo: ${last.what}`, last.id);
      journal.takeBack(last.id);
      settleName(this.#store, journal, id);
      journal.finish();
      return { ...changeEntry(last), undoneBy: journal.id };
    });
  }

  /**
   * Tells of changes, this process's own and those of others within a tenth of a second.
   *
   * @param listener  called with the machines that were changed and the revision of each
   * @returns stops it
   */
  onChange(listener: Listener): () => void {
    this.#listeners.add(listener);
    return () => {
      this.#listeners.delete(listener);
    };
  }

  async #add(
    files: ReadonlyMap<string, Uint8Array>,
    name: string | undefined,
    what?: string,
  ): Promise<MachineEntry> {
    const { findings, papers, source } = readMachine(files);
    refuseErrors(findings);
    const captures = await importedCaptures(files, papers);
    refuseErrors(captures.findings);
    const id = await this.#write(() =>
      addMachine(this.#store, files, source, name, this.#now(), captures.taken, what),
    );
    return this.machine(id);
  }

  async #logChange(
    id: number,
    what: string,
    entry: NewLogEntry,
    old = '',
  ): Promise<Change & { readonly entry: string }> {
    let written = '';
    const change = await this.#change(id, what, (journal) => {
      if (old !== '') checkStands(this.#store, id, old);
      const today = this.#now().slice(0, 10);
      written = writeLogEntry(this.#store, journal, id, entry, today, old);
    });
    return { ...change, entry: written };
  }

  /** One change to a machine. `work` may answer the ids of rows that it added. */
  #change(
    id: number,
    what: string | ((name: string) => string),
    work: (journal: Journal) => unknown,
  ): Promise<Change> {
    return this.#write(() => {
      const { name } = machineRow(this.#store, id);
      const text = typeof what === 'string' ? what : what(name);
      const journal = new Journal(this.#store, id, this.#now(), text);
      const rows = work(journal);
      const added: readonly number[] = Array.isArray(rows) ? rows : [];
      journal.finish();
      return { id: journal.id, revision: journal.id, added };
    });
  }

  async #write<R>(work: () => R): Promise<R> {
    const result = this.#store.write(work);
    this.#announce();
    return result;
  }

  #look(): void {
    try {
      const now = this.#store.db.pragma('data_version', { simple: true });
      if (now === this.#dataVersion) return;
      this.#dataVersion = now;
      this.#announce();
    } catch {
      // Whoever reads next is told what is wrong with the file.
    }
  }

  #announce(): void {
    const last = this.#lastChange();
    if (last === this.#announced) return;
    // Fewer changes than before: the record was restored, and everything may be another.
    const since = last < this.#announced ? 0 : this.#announced;
    if (since === 0) {
      this.#wired.clear();
      this.#sheets.forget();
    }
    const machines = this.#store.all(
      query
        .selectFrom('changes')
        .select((all) => ['machine as id', all.fn.max<number>('id').as('revision')])
        .where('id', '>', since)
        .groupBy('machine'),
    );
    this.#announced = last;
    for (const listener of this.#listeners) queueMicrotask(() => listener(machines));
  }

  #lastChange(): number {
    const last = this.#store.first(query.selectFrom('changes').select('id').orderBy('id', 'desc').limit(1));
    return last?.id ?? 0;
  }

  #now(): string {
    return this.#clock().toISOString();
  }

  /** The machine without its readings, read again when something of it has changed; `undefined` when it cannot be read. */
  #wiring(id: number): Machine | undefined {
    const { wiring } = machineRow(this.#store, id);
    const known = this.#wired.get(id);
    if (known?.wiring === wiring) return known.machine;
    const { machine } = readMachine(this.#sheets.of(id, WIRED_TABLES));
    this.#wired.set(id, { wiring, machine });
    return machine;
  }
}

function refuseErrors(findings: readonly Finding[]): void {
  const wrong = findings.filter(({ severity }) => severity === 'error');
  if (wrong.length > 0)
    throw new InputError('folder', `nothing was taken in until this is mended:\n${formatFindings(wrong)}`);
}

function changeEntry(row: { id: number; at: string; what: string; undone_by: number | null }): ChangeEntry {
  const { id, at, what, undone_by } = row;
  return { id, at, what, ...(undone_by === null ? {} : { undoneBy: undone_by }) };
}

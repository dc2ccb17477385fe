import {
  cellTable,
  type Finding,
  formatFindings,
  type Machine,
  pointNet,
  readMachine,
  rowFindings,
  suggestion,
  type Unit,
} from '../machine/index.ts';
import { backupRecord } from './backup.ts';
import { keepTable, keptTable } from './fault-table-store.ts';
import { checkPath } from './file-path.ts';
import { InputError } from './input-error.ts';
import { Journal, machineRow, SHEET_TABLES } from './journal.ts';
import { checkStands, type LogChoice, logEntries, writeLogEntry } from './log-store.ts';
import { newMachineFiles } from './new-machine.ts';
import {
  addPicture,
  changePicture,
  type NewPhotograph,
  photographsOf,
  pictureBytes,
  placeMark,
  placementsOf,
  removeMark,
  withdrawnPictures,
  withdrawPicture,
} from './picture-store.ts';
import {
  type Change,
  type ChangeEntry,
  Conflict,
  type Head,
  type LogEntry,
  type MachineEntry,
  type NewLogEntry,
  type NewMachine,
  type NewReading,
  type Photograph,
  type PhotographFacts,
  type Placement,
  type ReadingChoice,
  type RecordReading,
  type RecordSheet,
  type SheetEdit,
  type SheetName,
} from './record-types.ts';
import { addRow, editSheet, fileOf, fillSheet, recordSheet, sheetText } from './sheet-store.ts';
import { query, type Store } from './store.ts';

const HEAD = 'machine.json';
/** How often one looks for what other processes have changed. */
const LOOK_MS = 100;

type Listener = (machines: readonly number[]) => void;

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
  readonly #wired = new Map<number, { readonly wiring: number; readonly machine: Machine | undefined }>();
  readonly #looking: NodeJS.Timeout;
  #dataVersion: unknown;
  #announced: number;

  constructor(store: Store, clock: () => Date) {
    this.path = store.path;
    this.#store = store;
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
    return this.#entries();
  }

  /** One machine's entry. */
  async machine(id: number): Promise<MachineEntry> {
    machineRow(this.#store, id);
    return this.#entries(id)[0]!;
  }

  /** The machine's folder: bytes by file name, for `readMachine`, to write out or to pack. */
  async folder(id: number): Promise<Map<string, Uint8Array>> {
    return this.#store.read(() => this.#folder(id, true));
  }

  /** As `folder`, but pictures and whatever else is not a table are there by name only, without their bytes: for reading alone. */
  async tables(id: number): Promise<Map<string, Uint8Array>> {
    return this.#store.read(() => this.#folder(id, false));
  }

  /**
   * Takes a machine folder in. A machine of the same name is left alone: the new one is called `name 2`.
   *
   * @param files  bytes by name; pictures as `photographs/NAME`
   * @throws InputError  `folder` with all findings, one a line, when there is an error among them
   */
  async importFolder(
    files: ReadonlyMap<string, Uint8Array>,
    { name }: { readonly name?: string | undefined } = {},
  ): Promise<MachineEntry> {
    const { findings, source } = readMachine(files);
    refuseErrors(findings);
    const raw = source.json!.raw;
    const tables = SHEET_TABLES.flatMap((sheet) => {
      const bytes = files.get(fileOf(sheet));
      const table = bytes && cellTable(fileOf(sheet), new TextDecoder().decode(bytes));
      return table === undefined ? [] : [{ sheet, table }];
    });
    const id = await this.#write(() => {
      const wanted = name ?? (typeof raw.name === 'string' ? raw.name : '');
      const free = this.#freeName(wanted);
      const head = free === raw.name ? source.texts.get(HEAD)! : headText({ ...raw, name: free });
      const at = this.#now();
      const machine = this.#store.run(
        query.insertInto('machines').values({
          ...{ name: free, head, version: 0, revision: 0, wiring: 0 },
          ...{ columns: '{}', changed_at: at, withdrawn: null },
        }),
      );
      const journal = new Journal(this.#store, machine, at, `import ${free}`);
      journal.machineAdded();
      const headings = Object.fromEntries(
        tables.map(({ sheet, table }) => [sheet, fillSheet(this.#store, machine, sheet, table, journal.id)]),
      );
      this.#store.run(
        query
          .updateTable('machines')
          .set({ columns: JSON.stringify(headings), version: journal.id })
          .where('id', '=', machine),
      );
      for (const [path, bytes] of files) {
        if (path === HEAD || tables.some(({ sheet }) => fileOf(sheet) === path) || bytes.length === 0)
          continue;
        checkPath(path);
        this.#store.run(query.insertInto('attachments').values({ machine, path, bytes }));
      }
      journal.finish();
      return machine;
    });
    return this.machine(id);
  }

  /**
   * A machine from nothing: boards with their connectors, test points, units, states; comparing works before a part is traced.
   *
   * @throws InputError  `folder` with all findings
   */
  async createMachine(machine: NewMachine): Promise<MachineEntry> {
    return this.importFolder(newMachineFiles(machine));
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
      if (name !== row.name && this.#names(id).has(name))
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
    const change = await this.#change(id, what, (journal) => {
      const taken_at = this.#readingTime(id, reading);
      const { uncertainty = '', ambient = '', instrument = '', note = '' } = reading;
      const { unit, condition, point, quantity, value } = reading;
      const cells = {
        unit,
        condition,
        point,
        quantity,
        value,
        uncertainty,
        taken_at,
        ambient,
        instrument,
        note,
      };
      this.#checkReading(id, cells);
      return [addRow(this.#store, journal, id, 'readings', cells)];
    });
    return { ...change, reading: change.added[0]! };
  }

  /** Takes a slip out of the reckoning; it stays in the history. @throws InputError  `no-reading` */
  async withdrawReading(id: number, reading: number): Promise<Change> {
    return this.#change(id, 'withdraw a reading', (journal) => {
      const row = this.#store.first(
        query.selectFrom('readings').select('withdrawn').where('id', '=', reading).where('machine', '=', id),
      );
      if (row === undefined || row.withdrawn !== null)
        throw new InputError('no-reading', `there is no reading ${reading} that stands`);
      journal.withdraw('readings', reading);
    });
  }

  /** All readings that were ever taken, in the order in which they stand, of one unit, condition or point where it is named. */
  async readings(id: number, choice: ReadingChoice = {}): Promise<readonly RecordReading[]> {
    machineRow(this.#store, id);
    let wanted = query.selectFrom('readings').selectAll().where('machine', '=', id);
    for (const column of ['unit', 'condition', 'point'] as const) {
      const value = choice[column];
      if (value !== undefined) wanted = wanted.where(column, '=', value);
    }
    const rows = this.#store.all(wanted.orderBy('position').orderBy('id'));
    const latest = new Map<string, { readonly id: number; readonly time: number }>();
    const keyOf = (row: (typeof rows)[number]): string =>
      [row.unit, row.condition, row.point, row.quantity].join('\n');
    for (const row of rows) {
      if (row.withdrawn !== null) continue;
      const time = moment(row.taken_at);
      const other = latest.get(keyOf(row));
      if (other === undefined || !(time < other.time)) latest.set(keyOf(row), { id: row.id, time });
    }
    return rows.map((row): RecordReading => {
      const { unit, condition, point, quantity, value, uncertainty, ambient, instrument, note } = row;
      return {
        ...{ id: row.id, unit, condition, point, quantity, value, uncertainty, ambient, instrument, note },
        takenAt: row.taken_at,
        superseded: row.withdrawn === null && latest.get(keyOf(row))?.id !== row.id,
        withdrawn: row.withdrawn !== null,
      };
    });
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
  async place(id: number, board: string, side: string, mark: string, x: number, y: number): Promise<Change> {
    return this.#change(id, `place ${mark}`, (journal) =>
      placeMark(this.#store, journal, id, { board, side, mark, x, y }),
    );
  }

  /** @throws InputError  `no-placement` */
  async unplace(id: number, board: string, side: string, mark: string): Promise<Change> {
    return this.#change(id, `take ${mark} off the picture`, (journal) => {
      removeMark(this.#store, journal, id, { board, side, mark });
    });
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
      this.#settleName(journal, id);
      journal.finish();
      return { ...changeEntry(last), undoneBy: journal.id };
    });
  }

  /**
   * Tells of changes, this process's own and those of others within a tenth of a second.
   *
   * @param listener  called with the ids of the machines that were changed
   * @returns stops it
   */
  onChange(listener: Listener): () => void {
    this.#listeners.add(listener);
    return () => {
      this.#listeners.delete(listener);
    };
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
    if (since === 0) this.#wired.clear();
    const machines = this.#store.all(
      query.selectFrom('changes').select('machine').distinct().where('id', '>', since),
    );
    this.#announced = last;
    const ids = machines.map(({ machine }) => machine);
    for (const listener of this.#listeners) queueMicrotask(() => listener(ids));
  }

  #lastChange(): number {
    const last = this.#store.first(query.selectFrom('changes').select('id').orderBy('id', 'desc').limit(1));
    return last?.id ?? 0;
  }

  #now(): string {
    return this.#clock().toISOString();
  }

  #names(except?: number): Set<string> {
    const rows = this.#store.all(
      query.selectFrom('machines').select(['id', 'name']).where('withdrawn', 'is', null),
    );
    return new Set(rows.filter(({ id }) => id !== except).map(({ name }) => name));
  }

  #freeName(wanted: string, except?: number): string {
    const names = this.#names(except);
    const base = wanted.trim() || 'machine';
    let free = wanted.trim() === wanted && wanted !== '' ? wanted : base;
    for (let n = 2; names.has(free); n++) free = `${base} ${n}`;
    return free;
  }

  /** A machine that comes back may find its name taken. */
  #settleName(journal: Journal, id: number): void {
    const row = this.#store.first(query.selectFrom('machines').selectAll().where('id', '=', id));
    if (row === undefined || row.withdrawn !== null) return;
    const name = this.#freeName(row.name, id);
    if (name !== row.name)
      journal.update('machines', id, { name, head: headText({ ...JSON.parse(row.head), name }) });
  }

  #folder(id: number, whole: boolean): Map<string, Uint8Array> {
    const encoder = new TextEncoder();
    const files = new Map([[HEAD, encoder.encode(machineRow(this.#store, id).head)]]);
    for (const sheet of SHEET_TABLES) {
      const text = sheetText(this.#store, id, sheet);
      if (text !== undefined) files.set(fileOf(sheet), encoder.encode(text));
    }
    const attached = query.selectFrom('attachments').where('machine', '=', id).orderBy('path');
    const attachments = this.#store.all<{ path: string; bytes?: Uint8Array }>(
      whole ? attached.select(['path', 'bytes']) : attached.select('path'),
    );
    const away = withdrawnPictures(this.#store, id);
    for (const { path, bytes = [] } of attachments)
      if (!away.has(path)) files.set(path, new Uint8Array(bytes));
    return files;
  }

  #entries(id?: number): MachineEntry[] {
    return this.#store.read(() => {
      let wanted = query.selectFrom('machines').selectAll().where('withdrawn', 'is', null);
      if (id !== undefined) wanted = wanted.where('id', '=', id);
      const rows = this.#store.all(wanted.orderBy('name'));
      return rows.map((row): MachineEntry => {
        const json = headOf(row).json;
        return {
          ...{ id: row.id, name: row.name, summary: typeof json.summary === 'string' ? json.summary : '' },
          ...{ revision: row.revision, wiring: row.wiring, changedAt: row.changed_at },
          units: unitsOf(json.units),
          boards: this.#boards(row.id),
          parts: this.#count('parts', row.id),
          readings: this.#count('readings', row.id),
        };
      });
    });
  }

  #count(table: 'parts' | 'readings', machine: number): number {
    const { count } = this.#store.first(
      query
        .selectFrom(table)
        .select((all) => all.fn.countAll<number>().as('count'))
        .where('machine', '=', machine)
        .where('withdrawn', 'is', null),
    )!;
    return count;
  }

  #boards(machine: number): number {
    const of = (table: 'parts' | 'flow' | 'boards') =>
      query.selectFrom(table).select('board').where('machine', '=', machine).where('withdrawn', 'is', null);
    return this.#store.all(of('parts').union(of('flow')).union(of('boards'))).length;
  }

  /** The machine without its readings, read again when something of it has changed; `undefined` when it cannot be read. */
  #wiring(id: number): Machine | undefined {
    const { wiring } = machineRow(this.#store, id);
    const known = this.#wired.get(id);
    if (known?.wiring === wiring) return known.machine;
    const encoder = new TextEncoder();
    const files = new Map([[HEAD, encoder.encode(machineRow(this.#store, id).head)]]);
    for (const sheet of ['parts', 'types', 'conditions', 'states', 'points', 'flow'] as const) {
      const text = sheetText(this.#store, id, sheet);
      if (text !== undefined) files.set(fileOf(sheet), encoder.encode(text));
    }
    const { machine } = readMachine(files);
    this.#wired.set(id, { wiring, machine });
    return machine;
  }

  /** @throws InputError  when the row would be an error in readings.csv */
  #checkReading(id: number, cells: Readonly<Record<string, string>>): void {
    const wrong = rowFindings('readings.csv', cells).find(({ severity }) => severity === 'error');
    if (wrong !== undefined) throw new InputError(wrong.code, wrong.message);
    const machine = this.#wiring(id);
    if (machine === undefined) return;
    const { unit, condition, point } = cells as { unit: string; condition: string; point: string };
    const units = machine.units.map((one) => one.id);
    const conditions = machine.conditions.map(({ name }) => name);
    if (!units.includes(unit))
      throw new InputError(
        'unknown-unit',
        `there is no unit ${JSON.stringify(unit)}${suggestion(unit, units)}`,
      );
    if (!conditions.includes(condition)) {
      throw new InputError(
        'unknown-condition',
        `there is no state ${JSON.stringify(condition)}${suggestion(condition, conditions)}`,
      );
    }
    if (pointNet(machine, point) === undefined) {
      const points = machine.points.map((one) => one.point);
      throw new InputError(
        'unknown-point',
        `there is no point ${JSON.stringify(point)}${suggestion(point, points)}; a point is a net, or a pin BOARD/REF.pin`,
      );
    }
  }

  /** Now; where a reading of the same point stands that says to be later, its time: a clock must not hide what was just read. */
  #readingTime(id: number, { unit, condition, point, quantity }: NewReading): string {
    const now = `${this.#now().slice(0, 19)}Z`;
    const standing = this.#store.all(
      query
        .selectFrom('readings')
        .select('taken_at')
        .where('machine', '=', id)
        .where('withdrawn', 'is', null)
        .where('unit', '=', unit)
        .where('condition', '=', condition)
        .where('point', '=', point)
        .where('quantity', '=', quantity),
    );
    return standing.reduce((last, { taken_at }) => (moment(taken_at) > moment(last) ? taken_at : last), now);
  }
}

/** Milliseconds since 1970 as the reckoning counts them: a time without a zone is taken as it stands. */
function moment(takenAt: string): number {
  const zoned = !/[T ]/.test(takenAt) || /(Z|[+-]\d\d(:?\d\d)?)$/i.test(takenAt);
  return Date.parse(zoned ? takenAt : `${takenAt}Z`);
}

function refuseErrors(findings: readonly Finding[]): void {
  const wrong = findings.filter(({ severity }) => severity === 'error');
  if (wrong.length > 0)
    throw new InputError('folder', `nothing was imported until this is mended:\n${formatFindings(wrong)}`);
}

function headText(json: Head['json']): string {
  return `${JSON.stringify(json, null, 2)}\n`;
}

function headOf({ version, head }: { readonly version: number; readonly head: string }): Head {
  return { version, json: JSON.parse(head.replace(/^\uFEFF/, '')) as Head['json'] };
}

function unitsOf(value: unknown): Unit[] {
  return (Array.isArray(value) ? value : []).flatMap((unit: unknown) => {
    const { id, health = 'unknown' } = (unit ?? {}) as { id?: unknown; health?: unknown };
    return typeof id === 'string' ? [{ id: id.trim(), health: health as Unit['health'] }] : [];
  });
}

function changeEntry(row: { id: number; at: string; what: string; undone_by: number | null }): ChangeEntry {
  const { id, at, what, undone_by } = row;
  return { id, at, what, ...(undone_by === null ? {} : { undoneBy: undone_by }) };
}

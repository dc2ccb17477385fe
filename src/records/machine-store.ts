import { cellTable, type MachineSource, type Unit } from '../machine/index.ts';
import type { TakenIn } from './capture-intake.ts';
import { captureFile, captureFilePieces, captureFiles, keepCapture } from './capture-store.ts';
import { checkPath } from './file-path.ts';
import { Journal, SHEET_TABLES, type SheetTableName } from './journal.ts';
import { withdrawnFiles } from './picture-store.ts';
import type { Head, MachineEntry, RemovedMachine } from './record-types.ts';
import { fileOf, fillSheet } from './sheet-store.ts';
import { query, type Store } from './store.ts';

const HEAD = 'machine.json';

/**
 * Adds a machine from the files of its folder, which were read without an error, under the name that was wanted or the next
 * free one. @returns its id
 */
export function addMachine(
  store: Store,
  files: ReadonlyMap<string, Uint8Array>,
  { texts, json }: MachineSource,
  wanted: string | undefined,
  at: string,
  captures: ReadonlyMap<string, TakenIn>,
  what = 'import',
): number {
  const raw = json!.raw;
  const name = freeName(store, wanted ?? (typeof raw.name === 'string' ? raw.name : ''));
  const head = name === raw.name ? texts.get(HEAD)! : headText({ ...raw, name });
  const machine = store.run(
    query.insertInto('machines').values({
      ...{ name, head, version: 0, revision: 0, wiring: 0 },
      ...{ columns: '{}', changed_at: at, withdrawn: null },
    }),
  );
  const journal = new Journal(store, machine, at, `${what} ${name}`);
  journal.machineAdded();
  const headings: Partial<Record<SheetTableName, readonly string[]>> = {};
  for (const sheet of SHEET_TABLES) {
    const text = texts.get(fileOf(sheet));
    const table = text === undefined ? undefined : cellTable(fileOf(sheet), text);
    if (table !== undefined) headings[sheet] = fillSheet(store, machine, sheet, table, journal.id);
  }
  store.run(
    query
      .updateTable('machines')
      .set({ columns: JSON.stringify(headings), version: journal.id })
      .where('id', '=', machine),
  );
  for (const [path, bytes] of files) {
    if (texts.has(path) || bytes.length === 0) continue;
    checkPath(path);
    const capture = captures.get(path);
    if (capture !== undefined) keepCapture(store, machine, path.slice(path.indexOf('/') + 1), capture);
    else store.run(query.insertInto('attachments').values({ machine, path, bytes }));
  }
  journal.finish();
  return machine;
}

/**
 * The whole folder.
 *
 * @param sheets  machine.json and the sheets, as files
 * @param whole  otherwise pictures and the like have no bytes
 */
export function folderOf(
  store: Store,
  machine: number,
  sheets: ReadonlyMap<string, Uint8Array>,
  whole: boolean,
): Map<string, Uint8Array> {
  const files = attachedFiles(store, machine, sheets, whole);
  const gone = withdrawnFiles(store, machine, 'captures');
  for (const file of captureFiles(store, machine)) {
    const path = `captures/${file}`;
    if (!gone.has(path))
      files.set(path, (whole ? captureFile(store, machine, file) : undefined) ?? new Uint8Array());
  }
  return files;
}

/** The sheets, the pictures and what else lies beside them. */
function attachedFiles(
  store: Store,
  machine: number,
  sheets: ReadonlyMap<string, Uint8Array>,
  whole: boolean,
): Map<string, Uint8Array> {
  const files = new Map(sheets);
  const attached = query.selectFrom('attachments').where('machine', '=', machine).orderBy('path');
  const attachments = store.all<{ path: string; bytes?: Uint8Array }>(
    whole ? attached.select(['path', 'bytes']) : attached.select('path'),
  );
  const away = withdrawnFiles(store, machine, 'photographs');
  for (const { path, bytes = [] } of attachments) {
    // A table that an earlier version did not know lies among the other files, until the record has one of its own.
    if (!away.has(path) && !sheets.has(path)) files.set(path, new Uint8Array(bytes));
  }
  return files;
}

/** The whole folder, its captures piece by piece, since together they may be more than memory holds. */
export function folderPieces(
  store: Store,
  machine: number,
  sheets: ReadonlyMap<string, Uint8Array>,
): Map<string, Uint8Array | Iterable<Uint8Array>> {
  const files: Map<string, Uint8Array | Iterable<Uint8Array>> = attachedFiles(store, machine, sheets, true);
  const gone = withdrawnFiles(store, machine, 'captures');
  for (const file of captureFiles(store, machine)) {
    const path = `captures/${file}`;
    if (!gone.has(path)) files.set(path, captureFilePieces(store, machine, file));
  }
  return files;
}

/** The machines by name, or the one of an id. */
export function machineEntries(store: Store, id?: number): MachineEntry[] {
  return store.read(() => {
    let wanted = query.selectFrom('machines').selectAll().where('withdrawn', 'is', null);
    if (id !== undefined) wanted = wanted.where('id', '=', id);
    return store.all(wanted.orderBy('name')).map((row): MachineEntry => {
      const { summary, units } = headOf(row).json;
      return {
        ...{ id: row.id, name: row.name, summary: typeof summary === 'string' ? summary : '' },
        ...{ revision: row.revision, wiring: row.wiring, changedAt: row.changed_at },
        units: unitsOf(units),
        boards: boardCount(store, row.id),
        parts: rowCount(store, 'parts', row.id),
        readings: rowCount(store, 'readings', row.id),
      };
    });
  });
}

/** Machines that were taken away, the last one first. */
export function removedEntries(store: Store): RemovedMachine[] {
  return store.all(
    query
      .selectFrom('machines')
      .select(['id', 'name', 'changed_at as removedAt'])
      .where('withdrawn', 'is not', null)
      // One whose making was taken back has nothing left to undo.
      .where(({ exists, selectFrom }) =>
        exists(
          selectFrom('changes')
            .select('id')
            .whereRef('changes.machine', '=', 'machines.id')
            .where('undoes', 'is', null)
            .where('undone_by', 'is', null),
        ),
      )
      .orderBy('changed_at', 'desc'),
  );
}

function rowCount(store: Store, table: 'parts' | 'readings', machine: number): number {
  const { count } = store.first(
    query
      .selectFrom(table)
      .select((all) => all.fn.countAll<number>().as('count'))
      .where('machine', '=', machine)
      .where('withdrawn', 'is', null),
  )!;
  return count;
}

function boardCount(store: Store, machine: number): number {
  const of = (table: 'parts' | 'flow' | 'boards') =>
    query.selectFrom(table).select('board').where('machine', '=', machine).where('withdrawn', 'is', null);
  return store.all(of('parts').union(of('flow')).union(of('boards'))).length;
}

/** The names of the other machines that stand. */
export function takenNames(store: Store, except?: number): Set<string> {
  const rows = store.all(query.selectFrom('machines').select(['id', 'name']).where('withdrawn', 'is', null));
  return new Set(rows.filter(({ id }) => id !== except).map(({ name }) => name));
}

function freeName(store: Store, wanted: string, except?: number): string {
  const names = takenNames(store, except);
  const base = wanted.trim() || 'machine';
  let free = base;
  for (let n = 2; names.has(free); n++) free = `${base} ${n}`;
  return free;
}

/** Gives a machine that came back the next free name when its own has been taken. */
export function settleName(store: Store, journal: Journal, id: number): void {
  const row = store.first(query.selectFrom('machines').selectAll().where('id', '=', id));
  if (row === undefined || row.withdrawn !== null) return;
  const name = freeName(store, row.name, id);
  if (name !== row.name)
    journal.update('machines', id, { name, head: headText({ ...headOf(row).json, name }) });
}

export function headText(json: Head['json']): string {
  return `${JSON.stringify(json, null, 2)}\n`;
}

export function headOf({ version, head }: { readonly version: number; readonly head: string }): Head {
  return { version, json: JSON.parse(head.replace(/^\uFEFF/, '')) as Head['json'] };
}

function unitsOf(value: unknown): Unit[] {
  return (Array.isArray(value) ? value : []).flatMap((unit: unknown) => {
    const { id, health = 'unknown' } = (unit ?? {}) as { id?: unknown; health?: unknown };
    return typeof id === 'string' ? [{ id: id.trim(), health: health as Unit['health'] }] : [];
  });
}

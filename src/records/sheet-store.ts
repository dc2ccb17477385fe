import { type CellTable, cellTableText, SHEET_COLUMNS, standardCells } from '../machine/index.ts';
import { InputError } from './input-error.ts';
import { type Journal, machineRow, type SheetTableName } from './journal.ts';
import { type Cells, Conflict, type RecordRow, type RecordSheet, type SheetEdit } from './record-types.ts';
import { query, type Store } from './store.ts';

/** Rows are put between others by halving; below this they are numbered anew. */
const CLOSEST = 1e-6;

type AnyRow = Readonly<Record<string, unknown>> & {
  readonly id: number;
  readonly version: number;
  readonly position: number;
  readonly withdrawn: number | null;
  readonly extra: string;
};

export function fileOf(sheet: SheetTableName): string {
  return `${sheet.replaceAll('_', '-')}.csv`;
}

/** The columns that the format knows in a sheet. */
function knownColumns(sheet: SheetTableName): readonly string[] {
  return SHEET_COLUMNS.get(fileOf(sheet))!;
}

/** The name of a column in its table: `id` is the record's own. */
function inTable(column: string): string {
  return column === 'id' ? 'id_text' : column;
}

/** The rows that stand, in order. */
export function sheetRows(store: Store, machine: number, sheet: SheetTableName): AnyRow[] {
  return store.all(
    query
      .selectFrom(sheet as 'types')
      .selectAll()
      .where('machine', '=', machine)
      .where('withdrawn', 'is', null)
      .orderBy('position')
      .orderBy('id'),
  ) as unknown as AnyRow[];
}

/** A row's cells by column, those of unknown columns included. */
export function cellsOf(sheet: SheetTableName, row: AnyRow): Record<string, string> {
  const cells = Object.fromEntries(
    knownColumns(sheet).map((column) => [column, String(row[inTable(column)])]),
  );
  return { ...cells, ...(JSON.parse(row.extra) as Record<string, string>) };
}

/** The headings of a machine's sheets as the folder had them; a sheet that came with no file has none. */
type Headings = Partial<Record<SheetTableName, readonly string[]>>;

function headingsOf(store: Store, machine: number): Headings {
  return JSON.parse(machineRow(store, machine).columns) as Headings;
}

/** Columns of a sheet in order: as the folder headed them, and others that a row fills. */
function columnsOf(sheet: SheetTableName, headings: Headings, rows: readonly Cells[]): readonly string[] {
  const headed = headings[sheet];
  if (headed === undefined) return knownColumns(sheet);
  const unheaded = knownColumns(sheet).filter((column) => !headed.includes(column));
  return [...headed, ...unheaded.filter((column) => rows.some((cells) => cells[column]))];
}

export function recordSheet(store: Store, machine: number, sheet: SheetTableName): RecordSheet {
  return store.read(() => {
    const headed = headingsOf(store, machine)[sheet] ?? [];
    const rows = sheetRows(store, machine, sheet).map((row): RecordRow => {
      return { id: row.id, version: row.version, cells: cellsOf(sheet, row) };
    });
    const known = knownColumns(sheet);
    return { columns: [...known, ...headed.filter((column) => !known.includes(column))], rows };
  });
}

/** The text of a sheet's file; `undefined` when the machine has no such sheet. */
export function sheetText(store: Store, machine: number, sheet: SheetTableName): string | undefined {
  const headings = headingsOf(store, machine);
  const rows = sheetRows(store, machine, sheet).map((row) => cellsOf(sheet, row));
  if (rows.length === 0 && headings[sheet] === undefined) return undefined;
  const columns = columnsOf(sheet, headings, rows);
  return cellTableText({
    columns: columns.map(headingOf),
    rows: rows.map((cells) => columns.map((column) => cells[column] ?? '')),
  });
}

/** Two columns of one heading are told apart by a count, behind a character that no text holds. */
const COUNT = '\u0000';

function headingOf(column: string): string {
  return column.split(COUNT, 1)[0]!;
}

function distinct(columns: readonly string[]): string[] {
  const taken = new Set<string>();
  return columns.map((column) => {
    let free = column;
    for (let n = 2; taken.has(free); n++) free = `${column}${COUNT}${n}`;
    taken.add(free);
    return free;
  });
}

/** Puts a file's rows into a sheet of a new machine. @returns its headings */
export function fillSheet(
  store: Store,
  machine: number,
  sheet: SheetTableName,
  table: CellTable,
  version: number,
): readonly string[] {
  const columns = distinct(table.columns);
  const known = knownColumns(sheet).filter((column) => columns.includes(column));
  const places = known.map((column) => columns.indexOf(column));
  const others = columns.map((column, i) => ({ column, i })).filter(({ column }) => !known.includes(column));
  const names = ['machine', 'position', 'version', 'extra', ...known.map(inTable)];
  store.guarded(() => {
    const insert = store.db.prepare(
      `INSERT INTO ${sheet} (${names.map((name) => `"${name}"`).join(', ')}) VALUES (${names.map(() => '?').join(', ')})`,
    );
    table.rows.forEach((row, position) => {
      const extra =
        others.length === 0
          ? '{}'
          : JSON.stringify(Object.fromEntries(others.map(({ column, i }) => [column, row[i]])));
      insert.run(machine, position, version, extra, ...places.map((i) => row[i]));
    });
  });
  return columns;
}

/** Writes edits of a person to a sheet. @returns the ids of the rows that were added */
export function editSheet(
  store: Store,
  journal: Journal,
  machine: number,
  sheet: SheetTableName,
  edits: readonly SheetEdit[],
): number[] {
  const headed = headingsOf(store, machine)[sheet] ?? [];
  const allowed = [
    ...knownColumns(sheet),
    ...headed.filter((column) => !knownColumns(sheet).includes(column)),
  ];
  const added: number[] = [];
  for (const edit of edits) {
    if ('add' in edit) {
      checkColumns(sheet, edit.add, allowed);
      added.push(addRow(store, journal, machine, sheet, edit.add, edit.after));
    } else if ('remove' in edit) {
      standingRow(store, machine, sheet, edit.remove, edit.version);
      journal.withdraw(sheet, edit.remove);
    } else {
      checkColumns(sheet, edit.cells, allowed);
      const row = standingRow(store, machine, sheet, edit.row, edit.version);
      if (sheet === 'readings') {
        // A reading is never overwritten: another one takes its place.
        journal.withdraw(sheet, edit.row);
        const cells = { ...cellsOf(sheet, row), ...edit.cells };
        added.push(addRow(store, journal, machine, sheet, cells, edit.row));
      } else journal.update(sheet, edit.row, inColumns(sheet, edit.cells, JSON.parse(row.extra)));
    }
  }
  return added;
}

function checkColumns(sheet: SheetTableName, cells: Cells, allowed: readonly string[]): void {
  for (const column of Object.keys(cells)) {
    if (!allowed.includes(column)) {
      throw new InputError(
        'unknown-column',
        `${fileOf(sheet)} has no column ${JSON.stringify(column)}; its columns are ${allowed.join(', ')}`,
      );
    }
  }
}

/** The row as the one who edits it saw it. @throws Conflict */
function standingRow(
  store: Store,
  machine: number,
  sheet: SheetTableName,
  id: number,
  version: number,
): AnyRow {
  const row = store.first(
    query
      .selectFrom(sheet as 'types')
      .selectAll()
      .where('id', '=', id)
      .where('machine', '=', machine),
  ) as unknown as AnyRow | undefined;
  if (row === undefined) throw new InputError('no-row', `${fileOf(sheet)} has no row of id ${id}`);
  if (row.withdrawn !== null)
    throw new Conflict(`the row of ${fileOf(sheet)} was removed in the meantime`, undefined);
  if (row.version !== version) {
    throw new Conflict(`the row of ${fileOf(sheet)} was changed in the meantime; nothing was overwritten`, {
      id,
      version: row.version,
      cells: cellsOf(sheet, row),
    });
  }
  return row;
}

/** Cells as columns of the table, unknown ones gathered in `extra`. */
function inColumns(sheet: SheetTableName, cells: Cells, extra: Cells): Record<string, string> {
  const columns: Record<string, string> = {};
  const others: Record<string, string> = { ...extra };
  for (const [column, cell] of Object.entries(standardCells(fileOf(sheet), cells))) {
    if (knownColumns(sheet).includes(column)) columns[inTable(column)] = cell;
    else others[column] = cell;
  }
  return Object.keys(others).length === 0 ? columns : { ...columns, extra: JSON.stringify(others) };
}

/** Adds a row, last or below another one. @returns its id */
export function addRow(
  store: Store,
  journal: Journal,
  machine: number,
  sheet: SheetTableName,
  cells: Cells,
  after?: number,
): number {
  return journal.insert(sheet, {
    ...inColumns(sheet, cells, {}),
    position: freePosition(store, machine, sheet, after),
  });
}

function freePosition(store: Store, machine: number, sheet: SheetTableName, after?: number): number {
  const table = query.selectFrom(sheet as 'types').where('machine', '=', machine);
  if (after === undefined) {
    const last = store.first(table.select('position').orderBy('position', 'desc').limit(1));
    return (last?.position ?? -1) + 1;
  }
  const above = store.first(table.select('position').where('id', '=', after))?.position;
  if (above === undefined) throw new InputError('no-row', `${fileOf(sheet)} has no row of id ${after}`);
  const below = store.first(
    table.select('position').where('position', '>', above).orderBy('position').limit(1),
  )?.position;
  if (below === undefined) return above + 1;
  if (below - above > CLOSEST) return (above + below) / 2;
  const ids = store.all(table.select('id').orderBy('position').orderBy('id'));
  ids.forEach(({ id }, position) => {
    store.run(
      query
        .updateTable(sheet as 'types')
        .set({ position })
        .where('id', '=', id),
    );
  });
  return freePosition(store, machine, sheet, after);
}

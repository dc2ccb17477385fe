import type { Insertable, Updateable } from 'kysely';
import { InputError } from './input-error.ts';
import { query, type Store } from './store.ts';
import type { SheetTable, Tables } from './tables.ts';

/** The tables that hold rows of sheets. */
export const SHEET_TABLES = [
  ...(['parts', 'types', 'conditions', 'states', 'points', 'boards', 'flow'] as const),
  ...(['readings', 'log', 'photographs', 'placements', 'captures', 'capture_channels'] as const),
] as const;
export type SheetTableName = (typeof SHEET_TABLES)[number];

/** Those that no expectation depends on. */
const BESIDE: ReadonlySet<string> = new Set([
  ...['readings', 'log', 'photographs', 'placements', 'captures', 'capture_channels'],
]);
/** Those that a machine's `wiring` grows with. */
export const WIRED_TABLES: readonly SheetTableName[] = SHEET_TABLES.filter((table) => !BESIDE.has(table));

type Value = string | number | null;
type Row = Readonly<Record<string, Value>>;

/**
 * One change to a machine, within a transaction: every row that it touches is noted as it stood, so that it can be taken back.
 * Its id is the version of the rows that it writes, and the machine's revision afterwards.
 */
export class Journal {
  readonly id: number;
  readonly #store: Store;
  readonly #machine: number;
  readonly #at: string;

  constructor(store: Store, machine: number, at: string, what: string, undoes: number | null = null) {
    this.#store = store;
    this.#machine = machine;
    this.#at = at;
    this.id = store.run(query.insertInto('changes').values({ machine, at, what, undoes, undone_by: null }));
  }

  /** Adds a row of a sheet. @returns its id */
  insert(table: SheetTableName, row: Row): number {
    const id = this.#store.run(
      query.insertInto(asSheet(table)).values({
        ...(row as unknown as Insertable<SheetTable>),
        machine: this.#machine,
        version: this.id,
        withdrawn: null,
      }),
    );
    this.#note(table, id, null);
    return id;
  }

  /** Sets these columns of a row. */
  update(table: SheetTableName | 'machines', id: number, columns: Row): void {
    const names = Object.keys(columns);
    const before = this.#store.first(
      query
        .selectFrom(asSheet(table))
        .select(names as (keyof SheetTable)[])
        .where('id', '=', id),
    );
    if (before === undefined) throw new RangeError(`table ${table} has no row ${id}`);
    this.#store.run(
      query
        .updateTable(asSheet(table))
        .set({ ...(columns as unknown as Updateable<SheetTable>), version: this.id })
        .where('id', '=', id),
    );
    this.#note(table, id, JSON.stringify(before));
  }

  withdraw(table: SheetTableName | 'machines', id: number): void {
    this.update(table, id, { withdrawn: this.id });
  }

  /** Notes that a machine was added, so that taking the change back takes the machine away. */
  machineAdded(): void {
    this.#note('machines', this.#machine, null);
  }

  /** The last step of a change: the machine's revision. */
  finish(): void {
    const touched = this.#store.all(
      query.selectFrom('change_rows').select('table').distinct().where('change', '=', this.id),
    );
    const wiring = touched.some(({ table }) => !BESIDE.has(table));
    this.#store.run(
      query
        .updateTable('machines')
        .set({ revision: this.id, changed_at: this.#at, ...(wiring ? { wiring: this.id } : {}) })
        .where('id', '=', this.#machine),
    );
  }

  /** Puts the rows of a change of this machine back as they stood before it. */
  takeBack(change: number): void {
    const rows = this.#store.all(
      query.selectFrom('change_rows').selectAll().where('change', '=', change).orderBy('id', 'desc'),
    );
    for (const { table, row, before } of rows) {
      if (before === null) this.withdraw(table as SheetTableName, row);
      else this.update(table as SheetTableName, row, JSON.parse(before) as Row);
    }
    this.#store.run(query.updateTable('changes').set({ undone_by: this.id }).where('id', '=', change));
  }

  #note(table: string, row: number, before: string | null): void {
    this.#store.run(query.insertInto('change_rows').values({ change: this.id, table, row, before }));
  }
}

/** Every sheet's table has these columns; the name alone is chosen at run time, from a fixed list. */
function asSheet(table: SheetTableName | 'machines'): 'types' {
  return table as 'types' & keyof Tables;
}

/** The machine's row. @throws InputError  `no-machine` */
export function machineRow(store: Store, id: number): Tables['machines'] & { readonly id: number } {
  const row = store.first(
    query.selectFrom('machines').selectAll().where('id', '=', id).where('withdrawn', 'is', null),
  );
  if (row === undefined) throw new InputError('no-machine', `there is no machine ${id} in the record`);
  return row as unknown as Tables['machines'] & { readonly id: number };
}

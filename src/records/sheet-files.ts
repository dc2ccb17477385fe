import { machineRow, SHEET_TABLES, type SheetTableName } from './journal.ts';
import { fileOf, sheetText } from './sheet-store.ts';
import { query, type Store } from './store.ts';

const HEAD = 'machine.json';

interface Kept {
  /** Of the row that was written last, and of the headings. */
  readonly of: string;
  readonly bytes: Uint8Array | undefined;
}

/** Sheets as files, each written out again only when something of it has changed: one reading is one sheet of eleven. */
export class SheetFiles {
  readonly #store: Store;
  readonly #kept = new Map<string, Kept>();

  constructor(store: Store) {
    this.#store = store;
  }

  /** machine.json and these sheets, bytes by file name. What is given is kept: it must not be written into. */
  of(machine: number, sheets: readonly SheetTableName[] = SHEET_TABLES): Map<string, Uint8Array> {
    const { head, columns } = machineRow(this.#store, machine);
    const files = new Map<string, Uint8Array>([[HEAD, new TextEncoder().encode(head)]]);
    for (const sheet of sheets) {
      const bytes = this.#sheet(machine, sheet, columns);
      if (bytes !== undefined) files.set(fileOf(sheet), bytes);
    }
    return files;
  }

  /** For a record that another one has taken the place of. */
  forget(): void {
    this.#kept.clear();
  }

  #sheet(machine: number, sheet: SheetTableName, columns: string): Uint8Array | undefined {
    // Rows are never deleted, and one that is withdrawn or put back is written by a change of its own.
    const { last } = this.#store.first(
      query
        .selectFrom(sheet as 'types')
        .select((all) => all.fn.max<number | null>('version').as('last'))
        .where('machine', '=', machine),
    )!;
    const of = `${last}\n${columns}`;
    const key = `${machine} ${sheet}`;
    const known = this.#kept.get(key);
    if (known?.of === of) return known.bytes;
    const text = sheetText(this.#store, machine, sheet);
    const bytes = text === undefined ? undefined : new TextEncoder().encode(text);
    this.#kept.set(key, { of, bytes });
    return bytes;
  }
}

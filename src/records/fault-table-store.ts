import { sql } from 'kysely';
import { query, type Store } from './store.ts';

/** Bytes that all kept tables may take. */
const MOST_TABLE_BYTES = 256 * 1024 * 1024;
/** A table that was used within this time is not marked as used again. */
const USE_MS = 60_000;

/** The table under this key, marked as used; `undefined` when none is kept. */
export function keptTable(store: Store, key: string, now: number): Uint8Array | undefined {
  const row = store.first(query.selectFrom('fault_tables').select(['bytes', 'used']).where('key', '=', key));
  if (row === undefined) return undefined;
  if (now - row.used > USE_MS)
    store.run(query.updateTable('fault_tables').set({ used: now }).where('key', '=', key));
  // A view of its own, so that it may be looked at as numbers of any width.
  return new Uint8Array(row.bytes);
}

/** Keeps a table; the least recently used go when all together grow beyond `most` bytes. */
export function keepTable(
  store: Store,
  key: string,
  bytes: Uint8Array,
  now: number,
  most = MOST_TABLE_BYTES,
): void {
  store.write(() => {
    const values = { key, size: bytes.length, used: now, bytes };
    store.run(
      query
        .insertInto('fault_tables')
        .values(values)
        .onConflict((conflict) => conflict.column('key').doUpdateSet(values)),
    );
    const kept = store.all(
      query
        .selectFrom('fault_tables')
        .select(['key', 'size'])
        .orderBy('used', 'desc')
        .orderBy(sql`rowid`, 'desc'),
    );
    let sum = 0;
    for (const [i, table] of kept.entries()) {
      sum += table.size;
      if (i > 0 && sum > most) store.run(query.deleteFrom('fault_tables').where('key', '=', table.key));
    }
  });
}

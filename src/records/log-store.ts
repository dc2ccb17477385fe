import { rowFindings } from '../machine/index.ts';
import { InputError } from './input-error.ts';
import type { Journal } from './journal.ts';
import type { LogEntry, NewLogEntry } from './record-types.ts';
import { addRow } from './sheet-store.ts';
import { query, type Store } from './store.ts';

export interface LogChoice {
  readonly unit?: string | undefined;
  /** Words that all have to be there, in any column, as parts of words and whatever their capitals. */
  readonly search?: string | undefined;
}

/** The log in the order in which it was written; entries that were superseded or withdrawn are marked. */
export function logEntries(store: Store, machine: number, { unit, search = '' }: LogChoice): LogEntry[] {
  const rows = store.all(
    query.selectFrom('log').selectAll().where('machine', '=', machine).orderBy('position').orderBy('id'),
  );
  const successor = new Map(
    rows
      .filter((row) => row.withdrawn === null && row.replaces !== '')
      .map((row) => [row.replaces, row.id_text]),
  );
  const words = folded(search).split(/\s+/).filter(Boolean);
  return rows.flatMap((row) => {
    if (unit !== undefined && row.unit !== unit) return [];
    const { id_text: id, unit: of, date, kind, text, points, suspects, replaces, note } = row;
    const all = folded([of, date, kind, text, points, suspects, note].join('\n'));
    if (!words.every((word) => all.includes(word))) return [];
    const supersededBy = successor.get(id);
    return [
      {
        ...{ id, unit: of, date, kind, text, points, suspects, replaces, note },
        ...(supersededBy === undefined ? {} : { supersededBy }),
        withdrawn: row.withdrawn !== null,
      },
    ];
  });
}

/** Letters as they are looked for: without capitals and accents. */
function folded(text: string): string {
  return text.normalize('NFKD').replace(/\p{M}/gu, '').toLowerCase();
}

/** Writes an entry. @returns its id, the next number */
export function writeLogEntry(
  store: Store,
  journal: Journal,
  machine: number,
  entry: NewLogEntry,
  today: string,
  replaces = '',
): string {
  const ids = store.all(query.selectFrom('log').select('id_text').where('machine', '=', machine));
  const last = ids.reduce(
    (most, { id_text }) => (/^\d{1,15}$/.test(id_text) ? Math.max(most, Number(id_text)) : most),
    0,
  );
  const id = String(last + 1);
  const { unit, date = today, kind, text, points = '', suspects = '', note = '' } = entry;
  const cells = { id, unit, date, kind, text, points, suspects, replaces, note };
  const wrong = rowFindings('log.csv', cells).find(({ severity }) => severity === 'error');
  if (wrong !== undefined) throw new InputError(wrong.code, wrong.message);
  addRow(store, journal, machine, 'log', cells);
  return id;
}

/** @throws InputError  `no-entry`, or `superseded` when another entry stands in its place already */
export function checkStands(store: Store, machine: number, id: string): void {
  const entry = logEntries(store, machine, {}).find((one) => one.id === id);
  if (entry === undefined || entry.withdrawn)
    throw new InputError('no-entry', `there is no log entry ${JSON.stringify(id)}`);
  if (entry.supersededBy !== undefined)
    throw new InputError(
      'superseded',
      `entry ${id} has been superseded by ${entry.supersededBy}; supersede that one`,
    );
}

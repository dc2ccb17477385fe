/** Findings of a folder's checks, laid onto the cells that they are about. */

import type { FindingView } from '../../server/index.ts';
import type { SheetRow } from './edit-queue.ts';
import type { CellNote } from './grid.tsx';

export type Notes = ReadonlyMap<string, ReadonlyMap<string, CellNote>>;

/** By row key, then by column; a finding of a row as a whole is under the empty column. An error outweighs a doubt. */
export function cellNotes(findings: readonly FindingView[], rows: readonly SheetRow[]): Notes {
  const keys = new Map(rows.map(({ id, key }) => [id, key]));
  const notes = new Map<string, Map<string, CellNote>>();
  for (const { row, column, severity, message } of findings) {
    const key = row === null ? undefined : keys.get(row);
    if (key !== undefined) put(notes, key, column ?? '', { severity, words: message });
  }
  return notes;
}

/** The same for a list in machine.json, whose columns read `rails[2].volts`; rows are keyed by their place. */
export function listNotes(findings: readonly FindingView[], list: string): Notes {
  const notes = new Map<string, Map<string, CellNote>>();
  for (const { column, severity, message } of findings) {
    const place = /^(\w+)\[(\d+)\](?:\.(\w+))?$/.exec(column ?? '');
    if (place?.[1] === list) put(notes, place[2]!, place[3] ?? '', { severity, words: message });
  }
  return notes;
}

function put(notes: Map<string, Map<string, CellNote>>, row: string, column: string, note: CellNote): void {
  const cells = notes.get(row) ?? new Map<string, CellNote>();
  notes.set(row, cells);
  const known = cells.get(column);
  if (known === undefined) cells.set(column, note);
  else {
    const severity = known.severity === 'error' ? known.severity : note.severity;
    cells.set(column, { severity, words: `${known.words}; ${note.words}` });
  }
}

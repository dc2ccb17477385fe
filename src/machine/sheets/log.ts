import { shown } from '../finding.ts';
import type { Repair } from '../model.ts';
import type { Sheet } from '../sheet.ts';
import type { SheetRow } from '../sheet-row.ts';
import { moment } from './readings.ts';

export const LOG_KINDS = ['symptom', 'finding', 'replaced', 'proof', 'note'] as const;
export type LogKind = (typeof LOG_KINDS)[number];

/** An entry of the log: what was noticed on a unit, or done to it. */
export interface LogEntry {
  readonly id: string;
  readonly unit: string;
  /** ISO 8601, or empty. */
  readonly date: string;
  readonly kind: LogKind;
  readonly text: string;
  readonly points: readonly string[];
  /** `ADD/Q3:short-ce`; for kind `replaced`, the part that was changed. */
  readonly suspects: readonly string[];
  /** The id of the entry that this one supersedes; empty for none. */
  readonly replaces: string;
  readonly note: string;
}

/** log.csv: dated entries by unit. */
export const LOG: Sheet<LogEntry> = {
  file: 'log.csv',
  columns: ['id', 'unit', 'date', 'kind', 'text', 'points', 'suspects', 'replaces', 'note'],
  required: ['id', 'unit', 'kind', 'text'],
  numeric: [],
  read: entry,
  key: ({ id }) => id,
  repeat: {
    severity: 'error',
    code: 'duplicate',
    column: 'id',
    message: ({ id }, first) => `entry ${id} stands in row ${first} already; give this one another id`,
  },
  cells: (e) => ({ ...e, points: e.points.join(' '), suspects: e.suspects.join(' ') }),
};

function entry(row: SheetRow): LogEntry | undefined {
  const id = row.needed('id', 'a number or name of its own');
  const unit = row.needed('unit', 'the id of the unit');
  const word = row.needed('kind', `one of ${LOG_KINDS.join(', ')}`);
  const kind = LOG_KINDS.find((known) => known === word.toLowerCase());
  if (kind === undefined && word !== '') {
    row.error(
      'unknown-word',
      'kind',
      `kind ${shown(word)} is not known; it is one of ${LOG_KINDS.join(', ')}${row.suggestion('unknown-word', word, LOG_KINDS)}`,
    );
  }
  const date = moment(row, 'date');
  if (id === '' || unit === '' || kind === undefined) return undefined;
  return {
    id,
    unit,
    date,
    kind,
    text: row.raw('text'),
    points: words(row.text('points')),
    suspects: words(row.text('suspects')),
    replaces: row.text('replaces'),
    note: row.raw('note'),
  };
}

/** What the entries say was changed, each part of an entry once. What is named and is no part of the machine is there as well. */
export function repairsOf(entries: readonly LogEntry[]): Repair[] {
  const superseded = new Set(entries.map(({ replaces }) => replaces));
  return entries
    .filter(({ id, kind }) => kind === 'replaced' && !superseded.has(id))
    .flatMap(({ unit, date, suspects }) => {
      const changed = new Map<string, string>();
      for (const suspect of suspects) {
        const colon = suspect.indexOf(':');
        const part = colon < 0 ? suspect : suspect.slice(0, colon);
        if (!changed.get(part)) changed.set(part, colon < 0 ? '' : suspect.slice(colon + 1));
      }
      return [...changed].map(([part, mode]) => ({ unit, date, part, mode }));
    });
}

function words(text: string): string[] {
  return text === '' ? [] : text.split(/\s+/);
}

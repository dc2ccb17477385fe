/**
 * Version 1: machines with their sheets, a table each, cells as typed; the journal of changes; pictures and fault tables.
 *
 * A row is never deleted: `withdrawn` holds the change that took it away. `version` is the change that wrote it last.
 */
import { sheet } from './sheet-sql.ts';

export const up = `
CREATE TABLE machines (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  name TEXT NOT NULL,
  head TEXT NOT NULL,
  version INTEGER NOT NULL,
  revision INTEGER NOT NULL,
  wiring INTEGER NOT NULL,
  columns TEXT NOT NULL DEFAULT '{}',
  changed_at TEXT NOT NULL,
  withdrawn INTEGER
) STRICT;

CREATE TABLE changes (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  machine INTEGER NOT NULL REFERENCES machines (id),
  at TEXT NOT NULL,
  what TEXT NOT NULL,
  undoes INTEGER REFERENCES changes (id),
  undone_by INTEGER REFERENCES changes (id)
) STRICT;
CREATE INDEX changes_of_machine ON changes (machine, id);

CREATE TABLE change_rows (
  id INTEGER PRIMARY KEY,
  change INTEGER NOT NULL REFERENCES changes (id),
  "table" TEXT NOT NULL,
  "row" INTEGER NOT NULL,
  before TEXT
) STRICT;
CREATE INDEX rows_of_change ON change_rows (change, id);
${sheet('parts', ['board', 'ref', 'kind', 'type', 'value', 'tolerance', 'setting', 'pins', 'note'])}
${sheet('types', [
  ...['type', 'kind', 'polarity', 'material', 'vj', 'ij', 'hfe_min', 'hfe_typ', 'hfe_max', 'icbo', 'rs', 'n'],
  ...['vceo', 'vcbo', 'vebo', 'ic', 'pd', 'ft', 'source'],
])}
${sheet('conditions', ['condition', 'net', 'role', 'volts', 'ohms'])}
${sheet('states', ['condition', 'steps', 'note'])}
${sheet('points', ['point', 'minutes', 'note', 'caution'])}
${sheet('boards', ['board', 'caution', 'note'])}
${sheet('flow', ['board', 'stage', 'inputs', 'outputs', 'breaks', 'note'])}
${sheet('readings', [
  ...['unit', 'condition', 'point', 'quantity', 'value', 'uncertainty', 'taken_at', 'ambient', 'instrument'],
  'note',
])}
CREATE INDEX readings_at ON readings (machine, unit, condition, point);
${sheet('log', ['id_text', 'unit', 'date', 'kind', 'text', 'points', 'suspects', 'replaces', 'note'])}
${sheet('photographs', ['file', 'board', 'side', 'unit', 'taken_at', 'turn', 'mirrored', 'note'])}
${sheet('placements', ['board', 'side', 'mark', 'x', 'y'])}
CREATE TABLE attachments (
  id INTEGER PRIMARY KEY,
  machine INTEGER NOT NULL REFERENCES machines (id),
  path TEXT NOT NULL,
  bytes BLOB NOT NULL,
  UNIQUE (machine, path)
) STRICT;

CREATE TABLE fault_tables (
  key TEXT PRIMARY KEY,
  size INTEGER NOT NULL,
  used INTEGER NOT NULL,
  bytes BLOB NOT NULL
) STRICT;
CREATE INDEX fault_tables_by_use ON fault_tables (used, size);
`;

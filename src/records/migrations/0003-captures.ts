/**
 * Version 3: captures. Their rows are sheets like others; the file as the instrument wrote it and its channels as they were read are
 * kept in pieces, which no change touches.
 */
import { sheet } from './sheet-sql.ts';

export const up = `
${sheet('captures', ['file', 'unit', 'condition', 'taken_at', 'instrument', 'note', 'understanding'])}
${sheet('capture_channels', ['file', 'channel', 'point', 'factor', 'offset', 'note'])}
CREATE TABLE capture_files (
  id INTEGER PRIMARY KEY,
  machine INTEGER NOT NULL REFERENCES machines (id),
  file TEXT NOT NULL,
  kind TEXT NOT NULL,
  size INTEGER NOT NULL,
  UNIQUE (machine, file)
) STRICT;

CREATE TABLE capture_series (
  id INTEGER PRIMARY KEY,
  capture INTEGER NOT NULL REFERENCES capture_files (id),
  channel INTEGER NOT NULL,
  kind TEXT NOT NULL,
  name TEXT NOT NULL,
  unit TEXT NOT NULL,
  width INTEGER NOT NULL,
  samples INTEGER NOT NULL,
  first REAL NOT NULL,
  last REAL NOT NULL,
  step REAL,
  low REAL,
  high REAL,
  UNIQUE (capture, channel)
) STRICT;

CREATE TABLE capture_pieces (
  id INTEGER PRIMARY KEY,
  capture INTEGER NOT NULL REFERENCES capture_files (id),
  channel INTEGER NOT NULL,
  part INTEGER NOT NULL,
  packed INTEGER NOT NULL,
  bytes BLOB NOT NULL,
  UNIQUE (capture, channel, part)
) STRICT;

CREATE TABLE capture_forms (
  key TEXT PRIMARY KEY,
  used INTEGER NOT NULL,
  form TEXT NOT NULL
) STRICT;
`;

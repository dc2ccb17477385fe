PRAGMA foreign_keys = OFF;
-- A record of version 1, with an invented machine: the schema and the rows as a program of that version left them.
-- It is never changed: records like it are out in the world.
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
CREATE TABLE parts (
  id INTEGER PRIMARY KEY,
  machine INTEGER NOT NULL REFERENCES machines (id),
  position REAL NOT NULL,
  version INTEGER NOT NULL,
  withdrawn INTEGER,
  extra TEXT NOT NULL DEFAULT '{}',
  "board" TEXT NOT NULL DEFAULT '',
  "ref" TEXT NOT NULL DEFAULT '',
  "kind" TEXT NOT NULL DEFAULT '',
  "type" TEXT NOT NULL DEFAULT '',
  "value" TEXT NOT NULL DEFAULT '',
  "tolerance" TEXT NOT NULL DEFAULT '',
  "setting" TEXT NOT NULL DEFAULT '',
  "pins" TEXT NOT NULL DEFAULT '',
  "note" TEXT NOT NULL DEFAULT ''
) STRICT;
CREATE INDEX parts_order ON parts (machine, position, withdrawn);
CREATE TABLE types (
  id INTEGER PRIMARY KEY,
  machine INTEGER NOT NULL REFERENCES machines (id),
  position REAL NOT NULL,
  version INTEGER NOT NULL,
  withdrawn INTEGER,
  extra TEXT NOT NULL DEFAULT '{}',
  "type" TEXT NOT NULL DEFAULT '',
  "kind" TEXT NOT NULL DEFAULT '',
  "polarity" TEXT NOT NULL DEFAULT '',
  "material" TEXT NOT NULL DEFAULT '',
  "vj" TEXT NOT NULL DEFAULT '',
  "ij" TEXT NOT NULL DEFAULT '',
  "hfe_min" TEXT NOT NULL DEFAULT '',
  "hfe_typ" TEXT NOT NULL DEFAULT '',
  "hfe_max" TEXT NOT NULL DEFAULT '',
  "icbo" TEXT NOT NULL DEFAULT '',
  "rs" TEXT NOT NULL DEFAULT '',
  "n" TEXT NOT NULL DEFAULT '',
  "vceo" TEXT NOT NULL DEFAULT '',
  "vcbo" TEXT NOT NULL DEFAULT '',
  "vebo" TEXT NOT NULL DEFAULT '',
  "ic" TEXT NOT NULL DEFAULT '',
  "pd" TEXT NOT NULL DEFAULT '',
  "ft" TEXT NOT NULL DEFAULT '',
  "source" TEXT NOT NULL DEFAULT ''
) STRICT;
CREATE INDEX types_order ON types (machine, position, withdrawn);
CREATE TABLE conditions (
  id INTEGER PRIMARY KEY,
  machine INTEGER NOT NULL REFERENCES machines (id),
  position REAL NOT NULL,
  version INTEGER NOT NULL,
  withdrawn INTEGER,
  extra TEXT NOT NULL DEFAULT '{}',
  "condition" TEXT NOT NULL DEFAULT '',
  "net" TEXT NOT NULL DEFAULT '',
  "role" TEXT NOT NULL DEFAULT '',
  "volts" TEXT NOT NULL DEFAULT '',
  "ohms" TEXT NOT NULL DEFAULT ''
) STRICT;
CREATE INDEX conditions_order ON conditions (machine, position, withdrawn);
CREATE TABLE states (
  id INTEGER PRIMARY KEY,
  machine INTEGER NOT NULL REFERENCES machines (id),
  position REAL NOT NULL,
  version INTEGER NOT NULL,
  withdrawn INTEGER,
  extra TEXT NOT NULL DEFAULT '{}',
  "condition" TEXT NOT NULL DEFAULT '',
  "steps" TEXT NOT NULL DEFAULT '',
  "note" TEXT NOT NULL DEFAULT ''
) STRICT;
CREATE INDEX states_order ON states (machine, position, withdrawn);
CREATE TABLE points (
  id INTEGER PRIMARY KEY,
  machine INTEGER NOT NULL REFERENCES machines (id),
  position REAL NOT NULL,
  version INTEGER NOT NULL,
  withdrawn INTEGER,
  extra TEXT NOT NULL DEFAULT '{}',
  "point" TEXT NOT NULL DEFAULT '',
  "minutes" TEXT NOT NULL DEFAULT '',
  "note" TEXT NOT NULL DEFAULT '',
  "caution" TEXT NOT NULL DEFAULT ''
) STRICT;
CREATE INDEX points_order ON points (machine, position, withdrawn);
CREATE TABLE boards (
  id INTEGER PRIMARY KEY,
  machine INTEGER NOT NULL REFERENCES machines (id),
  position REAL NOT NULL,
  version INTEGER NOT NULL,
  withdrawn INTEGER,
  extra TEXT NOT NULL DEFAULT '{}',
  "board" TEXT NOT NULL DEFAULT '',
  "caution" TEXT NOT NULL DEFAULT '',
  "note" TEXT NOT NULL DEFAULT ''
) STRICT;
CREATE INDEX boards_order ON boards (machine, position, withdrawn);
CREATE TABLE flow (
  id INTEGER PRIMARY KEY,
  machine INTEGER NOT NULL REFERENCES machines (id),
  position REAL NOT NULL,
  version INTEGER NOT NULL,
  withdrawn INTEGER,
  extra TEXT NOT NULL DEFAULT '{}',
  "board" TEXT NOT NULL DEFAULT '',
  "stage" TEXT NOT NULL DEFAULT '',
  "inputs" TEXT NOT NULL DEFAULT '',
  "outputs" TEXT NOT NULL DEFAULT '',
  "breaks" TEXT NOT NULL DEFAULT '',
  "note" TEXT NOT NULL DEFAULT ''
) STRICT;
CREATE INDEX flow_order ON flow (machine, position, withdrawn);
CREATE TABLE readings (
  id INTEGER PRIMARY KEY,
  machine INTEGER NOT NULL REFERENCES machines (id),
  position REAL NOT NULL,
  version INTEGER NOT NULL,
  withdrawn INTEGER,
  extra TEXT NOT NULL DEFAULT '{}',
  "unit" TEXT NOT NULL DEFAULT '',
  "condition" TEXT NOT NULL DEFAULT '',
  "point" TEXT NOT NULL DEFAULT '',
  "quantity" TEXT NOT NULL DEFAULT '',
  "value" TEXT NOT NULL DEFAULT '',
  "uncertainty" TEXT NOT NULL DEFAULT '',
  "taken_at" TEXT NOT NULL DEFAULT '',
  "ambient" TEXT NOT NULL DEFAULT '',
  "instrument" TEXT NOT NULL DEFAULT '',
  "note" TEXT NOT NULL DEFAULT ''
) STRICT;
CREATE INDEX readings_order ON readings (machine, position, withdrawn);
CREATE INDEX readings_at ON readings (machine, unit, condition, point);
CREATE TABLE log (
  id INTEGER PRIMARY KEY,
  machine INTEGER NOT NULL REFERENCES machines (id),
  position REAL NOT NULL,
  version INTEGER NOT NULL,
  withdrawn INTEGER,
  extra TEXT NOT NULL DEFAULT '{}',
  "id_text" TEXT NOT NULL DEFAULT '',
  "unit" TEXT NOT NULL DEFAULT '',
  "date" TEXT NOT NULL DEFAULT '',
  "kind" TEXT NOT NULL DEFAULT '',
  "text" TEXT NOT NULL DEFAULT '',
  "points" TEXT NOT NULL DEFAULT '',
  "suspects" TEXT NOT NULL DEFAULT '',
  "replaces" TEXT NOT NULL DEFAULT '',
  "note" TEXT NOT NULL DEFAULT ''
) STRICT;
CREATE INDEX log_order ON log (machine, position, withdrawn);
CREATE TABLE photographs (
  id INTEGER PRIMARY KEY,
  machine INTEGER NOT NULL REFERENCES machines (id),
  position REAL NOT NULL,
  version INTEGER NOT NULL,
  withdrawn INTEGER,
  extra TEXT NOT NULL DEFAULT '{}',
  "file" TEXT NOT NULL DEFAULT '',
  "board" TEXT NOT NULL DEFAULT '',
  "side" TEXT NOT NULL DEFAULT '',
  "unit" TEXT NOT NULL DEFAULT '',
  "taken_at" TEXT NOT NULL DEFAULT '',
  "turn" TEXT NOT NULL DEFAULT '',
  "mirrored" TEXT NOT NULL DEFAULT '',
  "note" TEXT NOT NULL DEFAULT ''
) STRICT;
CREATE INDEX photographs_order ON photographs (machine, position, withdrawn);
CREATE TABLE placements (
  id INTEGER PRIMARY KEY,
  machine INTEGER NOT NULL REFERENCES machines (id),
  position REAL NOT NULL,
  version INTEGER NOT NULL,
  withdrawn INTEGER,
  extra TEXT NOT NULL DEFAULT '{}',
  "board" TEXT NOT NULL DEFAULT '',
  "side" TEXT NOT NULL DEFAULT '',
  "mark" TEXT NOT NULL DEFAULT '',
  "x" TEXT NOT NULL DEFAULT '',
  "y" TEXT NOT NULL DEFAULT ''
) STRICT;
CREATE INDEX placements_order ON placements (machine, position, withdrawn);
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
INSERT INTO "machines" VALUES (1, 'Turnstile', '{"format":1,"name":"Turnstile","summary":"Invented.","reference":"0V","ambient":18,"rails":[{"net":"-12V","volts":-12}],"units":[{"id":"town","health":"healthy"},{"id":"island","health":"faulty"}],"maker":"unknown"}
', 1, 12, 6, '{"parts":["shelf","board","ref","kind","type","value","pins","note"],"types":["type","kind","polarity","material"],"conditions":["condition","net","role","volts","ohms"],"states":["condition","steps"],"points":["point","minutes","caution"],"boards":["board","caution"],"flow":["board","stage","outputs"]}', '2026-10-03T09:16:00.000Z', NULL);
INSERT INTO "changes" VALUES (1, 1, '2026-10-03T09:00:00.000Z', 'import Turnstile', NULL, NULL);
INSERT INTO "changes" VALUES (2, 1, '2026-10-03T09:01:00.000Z', 'reading of town, rest, TENS: -2.1', NULL, NULL);
INSERT INTO "changes" VALUES (3, 1, '2026-10-03T09:03:00.000Z', 'reading of town, rest, TENS: -2,2', NULL, NULL);
INSERT INTO "changes" VALUES (4, 1, '2026-10-03T09:05:00.000Z', 'reading of island, rest, TENS: 340m', NULL, NULL);
INSERT INTO "changes" VALUES (5, 1, '2026-10-03T09:07:00.000Z', 'withdraw a reading', NULL, NULL);
INSERT INTO "changes" VALUES (6, 1, '2026-10-03T09:08:00.000Z', 'points', NULL, NULL);
INSERT INTO "changes" VALUES (7, 1, '2026-10-03T09:09:00.000Z', 'log: symptom of island', NULL, NULL);
INSERT INTO "changes" VALUES (8, 1, '2026-10-03T09:11:00.000Z', 'log: entry 1 superseded', NULL, NULL);
INSERT INTO "changes" VALUES (9, 1, '2026-10-03T09:13:00.000Z', 'photograph of COUNT, copper', NULL, NULL);
INSERT INTO "changes" VALUES (10, 1, '2026-10-03T09:14:00.000Z', 'place CARRY', NULL, NULL);
INSERT INTO "changes" VALUES (11, 1, '2026-10-03T09:15:00.000Z', 'place CARRY', NULL, 12);
INSERT INTO "changes" VALUES (12, 1, '2026-10-03T09:16:00.000Z', 'undo: place CARRY', 11, NULL);
INSERT INTO "change_rows" VALUES (1, 1, 'machines', 1, NULL);
INSERT INTO "change_rows" VALUES (2, 2, 'readings', 1, NULL);
INSERT INTO "change_rows" VALUES (3, 3, 'readings', 2, NULL);
INSERT INTO "change_rows" VALUES (4, 4, 'readings', 3, NULL);
INSERT INTO "change_rows" VALUES (5, 5, 'readings', 3, '{"withdrawn":null}');
INSERT INTO "change_rows" VALUES (6, 6, 'points', 1, '{"note":""}');
INSERT INTO "change_rows" VALUES (7, 6, 'points', 3, NULL);
INSERT INTO "change_rows" VALUES (8, 7, 'log', 1, NULL);
INSERT INTO "change_rows" VALUES (9, 8, 'log', 2, NULL);
INSERT INTO "change_rows" VALUES (10, 9, 'photographs', 1, NULL);
INSERT INTO "change_rows" VALUES (11, 10, 'placements', 1, NULL);
INSERT INTO "change_rows" VALUES (12, 11, 'placements', 1, '{"x":"0.25","y":"0.5"}');
INSERT INTO "change_rows" VALUES (13, 12, 'placements', 1, '{"x":"0.75","y":"0.5"}');
INSERT INTO "parts" VALUES (1, 1, 0, 1, NULL, '{"shelf":"A 7"}', 'DRIVE', 'R1', 'resistor', '', '4K7', '', '', '1=-12V 2=TENS', 'gold, band');
INSERT INTO "parts" VALUES (2, 1, 1, 1, NULL, '{"shelf":""}', 'DRIVE', 'R2', 'resistor', '', '1k', '', '', '1=TENS 2=0V', '');
INSERT INTO "parts" VALUES (3, 1, 2, 1, NULL, '{"shelf":""}', 'COUNT', 'J1', 'connector', '', '', '', '', '1=-12V 2=CARRY', '');
INSERT INTO "types" VALUES (1, 1, 0, 1, NULL, '{}', 'FT4', 'transistor', 'pnp', 'ge', '', '', '', '', '', '', '', '', '', '', '', '', '', '', '');
INSERT INTO "conditions" VALUES (1, 1, 0, 1, NULL, '{}', 'rest', '', '', '', '');
INSERT INTO "states" VALUES (1, 1, 0, 1, NULL, '{}', 'rest', 'touch nothing', '');
INSERT INTO "points" VALUES (1, 1, 0, 6, NULL, '{}', 'TENS', '1', 'green lug', '');
INSERT INTO "points" VALUES (2, 1, 1, 1, NULL, '{}', 'CARRY', '2.5', '', 'beside the mains lugs');
INSERT INTO "points" VALUES (3, 1, 0.5, 6, NULL, '{}', 'COUNT/J1.2', '', '', '');
INSERT INTO "boards" VALUES (1, 1, 0, 1, NULL, '{}', 'COUNT', 'potted', '');
INSERT INTO "flow" VALUES (1, 1, 0, 1, NULL, '{}', 'COUNT', 'decade', '', 'CARRY', '', '');
INSERT INTO "readings" VALUES (1, 1, 0, 2, NULL, '{}', 'town', 'rest', 'TENS', 'V', '-2.1', '', '2026-10-03T09:02:00Z', '', 'meter A', '');
INSERT INTO "readings" VALUES (2, 1, 1, 3, NULL, '{}', 'town', 'rest', 'TENS', 'V', '-2.2', '', '2026-10-03T09:04:00Z', '', 'meter A', '');
INSERT INTO "readings" VALUES (3, 1, 2, 5, 5, '{}', 'island', 'rest', 'TENS', 'V', '340m', '', '2026-10-03T09:06:00Z', '', 'meter A', '');
INSERT INTO "log" VALUES (1, 1, 0, 7, NULL, '{}', '1', 'island', '2026-10-03', 'symptom', 'counts no tens', '', '', '', '');
INSERT INTO "log" VALUES (2, 1, 1, 8, NULL, '{}', '2', 'island', '2026-10-03', 'symptom', 'counts no hundreds', '', '', '1', '');
INSERT INTO "photographs" VALUES (1, 1, 0, 9, NULL, '{}', 'COUNT-copper.png', 'COUNT', 'copper', '', '', '90', '', '');
INSERT INTO "placements" VALUES (1, 1, 0, 12, NULL, '{}', 'COUNT', 'copper', 'CARRY', '0.25', '0.5');
INSERT INTO "attachments" VALUES (1, 1, 'photographs/COUNT-copper.png', x'89504e470d0a1a0a07');
INSERT INTO "fault_tables" VALUES ('a table', 3, 1791019020000, x'010203');
UPDATE sqlite_sequence SET seq = 1 WHERE name = 'machines';
UPDATE sqlite_sequence SET seq = 12 WHERE name = 'changes';
PRAGMA application_id = 1398960740;
PRAGMA user_version = 1;

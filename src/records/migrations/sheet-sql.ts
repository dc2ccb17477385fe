/** The table and the index of a sheet's rows: what all have, then the sheet's own columns. Part of released steps: never changed. */
export const sheet = (name: string, columns: readonly string[]): string => `
CREATE TABLE ${name} (
  id INTEGER PRIMARY KEY,
  machine INTEGER NOT NULL REFERENCES machines (id),
  position REAL NOT NULL,
  version INTEGER NOT NULL,
  withdrawn INTEGER,
  extra TEXT NOT NULL DEFAULT '{}',
  ${columns.map((column) => `"${column}" TEXT NOT NULL DEFAULT ''`).join(',\n  ')}
) STRICT;
CREATE INDEX ${name}_order ON ${name} (machine, position, withdrawn);
`;

/**
 * Version 4: states that run. A drive may have a wave, a state a stretch of time that is watched. Columns of these names, which earlier
 * versions did not know and kept beside, become these.
 */
const column = (table: string, name: string): string => `
ALTER TABLE ${table} ADD COLUMN "${name}" TEXT NOT NULL DEFAULT '';
UPDATE ${table} SET "${name}" = json_extract(extra, '$.${name}'), extra = json_remove(extra, '$.${name}')
  WHERE json_type(extra, '$.${name}') = 'text';
`;

export const up = `${column('conditions', 'wave')}${column('states', 'watch')}`;

/**
 * Version 2: a placement may be of one unit's own pictures. A column of that name, which version 1 did not know and kept beside, becomes
 * the unit.
 */
export const up = `
ALTER TABLE placements ADD COLUMN "unit" TEXT NOT NULL DEFAULT '';
UPDATE placements SET "unit" = json_extract(extra, '$.unit'), extra = json_remove(extra, '$.unit')
  WHERE json_type(extra, '$.unit') = 'text';
`;

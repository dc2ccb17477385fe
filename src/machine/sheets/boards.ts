import { shown } from '../finding.ts';
import type { Board } from '../model.ts';
import type { Sheet } from '../sheet.ts';
import type { SheetRow } from '../sheet-row.ts';

/** boards.csv: what a person must know of a board before touching it. A board needs no row here. */
export const BOARDS: Sheet<Board> = {
  file: 'boards.csv',
  columns: ['board', 'caution', 'note'],
  required: ['board'],
  numeric: [],
  read: board,
  key: ({ name }) => name,
  repeat: {
    severity: 'error',
    code: 'duplicate',
    column: 'board',
    message: ({ name }, first) => `${name} stands in row ${first} already; join the two rows`,
  },
  cells: ({ name, caution, note }) => ({ board: name, caution, note }),
};

function board(row: SheetRow): Board | undefined {
  const name = row.needed('board', 'the name of the board');
  if (/[/:]/.test(name))
    row.error('bad-name', 'board', `board ${shown(name)} holds a slash or colon, which names are split at`);
  return name === '' ? undefined : { name, caution: row.text('caution'), note: row.raw('note') };
}

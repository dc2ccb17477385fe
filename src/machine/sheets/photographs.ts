import { shown } from '../finding.ts';
import type { Sheet } from '../sheet.ts';
import { numberText, type SheetRow } from '../sheet-row.ts';
import { moment } from './readings.ts';

/** A picture of one side of a board; its file lies in `photographs/`. */
export interface BoardPhotograph {
  readonly file: string;
  readonly board: string;
  /** `component` or `copper` by custom. */
  readonly side: string;
  /** Empty when it stands for all units. */
  readonly unit: string;
  /** ISO 8601, or empty. */
  readonly takenAt: string;
  /** How far the picture is turned to be looked at, degrees clockwise. */
  readonly turn: number;
  readonly mirrored: boolean;
  readonly note: string;
}

/** A name that is one file's in one folder, on every system. */
export const FILE_NAME = /^[^/\\:*?"<>|.][^/\\:*?"<>|]*$/;
const YES = ['yes', 'true', '1'];
const NO = ['', 'no', 'false', '0'];

/** photographs.csv: what the pictures in `photographs/` show. */
export const PHOTOGRAPHS: Sheet<BoardPhotograph> = {
  file: 'photographs.csv',
  columns: ['file', 'board', 'side', 'unit', 'taken_at', 'turn', 'mirrored', 'note'],
  required: ['file', 'board'],
  numeric: ['turn'],
  read: photograph,
  key: ({ file }) => file,
  repeat: {
    severity: 'error',
    code: 'duplicate',
    column: 'file',
    message: ({ file }, first) => `${file} stands in row ${first} already; a picture has one row`,
  },
  cells: (p) => ({
    file: p.file,
    board: p.board,
    side: p.side,
    unit: p.unit,
    taken_at: p.takenAt,
    turn: p.turn === 0 ? '' : numberText(p.turn),
    mirrored: p.mirrored ? 'yes' : '',
    note: p.note,
  }),
};

function photograph(row: SheetRow): BoardPhotograph | undefined {
  const file = row.needed('file', 'the name of a picture in the folder photographs');
  if (file !== '' && !FILE_NAME.test(file))
    row.error('bad-name', 'file', `${shown(file)} is not the name of a file in photographs`);
  const board = row.needed('board', 'the board that it shows');
  const turn = row.number('turn', { from: 0, to: 359, wanted: 'degrees clockwise, 0 to 359' }) ?? 0;
  const word = row.text('mirrored').toLowerCase();
  if (!YES.includes(word) && !NO.includes(word))
    row.error('unknown-word', 'mirrored', `${shown(word)} is not known; write yes, or nothing`);
  const takenAt = moment(row);
  if (file === '' || board === '' || row.faulty) return undefined;
  return {
    file,
    board,
    side: row.text('side'),
    unit: row.text('unit'),
    takenAt,
    turn,
    mirrored: YES.includes(word),
    note: row.raw('note'),
  };
}

import type { Sheet } from '../sheet.ts';
import { numberText, type SheetRow } from '../sheet-row.ts';

/** Where something is on the pictures of a board's side. */
export interface Placement {
  readonly board: string;
  readonly side: string;
  /** On whose pictures; empty for those of every unit that has no place of its own for the mark. */
  readonly unit: string;
  /** A point, a pin or a part. */
  readonly mark: string;
  /** Shares of the unturned picture's width and height, from the top left corner. */
  readonly x: number;
  readonly y: number;
}

const SHARE = { from: 0, to: 1, wanted: 'a share of the unturned picture, 0 to 1' };

/** placements.csv: points, pins and parts on the pictures of the boards. */
export const PLACEMENTS: Sheet<Placement> = {
  file: 'placements.csv',
  columns: ['board', 'side', 'mark', 'x', 'y', 'unit'],
  required: ['board', 'side', 'mark', 'x', 'y'],
  numeric: ['x', 'y'],
  read: placement,
  key: ({ board, side, mark, unit }) => `${board}\n${side}\n${mark}\n${unit}`,
  repeat: {
    severity: 'error',
    code: 'duplicate',
    column: 'mark',
    message: ({ mark }, first) => `${mark} is placed on this side in row ${first} already; delete one row`,
  },
  cells: (p) => ({ ...p, x: numberText(p.x), y: numberText(p.y) }),
};

function placement(row: SheetRow): Placement | undefined {
  const board = row.needed('board', 'the board');
  const mark = row.needed('mark', 'a point, a pin or a part');
  row.needed('x', SHARE.wanted);
  row.needed('y', SHARE.wanted);
  const x = row.number('x', SHARE);
  const y = row.number('y', SHARE);
  if (board === '' || mark === '' || x === undefined || y === undefined) return undefined;
  return { board, side: row.text('side'), unit: row.text('unit'), mark, x, y };
}

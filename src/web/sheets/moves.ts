/** Where a key leads in a grid. */

export interface Cell {
  readonly row: number;
  readonly column: number;
}

export interface Extent {
  readonly rows: number;
  readonly columns: number;
  /** Rows that a page key passes. */
  readonly page: number;
}

/** The cell that an arrow, Home, End or page key leads to; with `far` (Ctrl) to the end of the grid. `undefined` for other keys. */
export function moved({ row, column }: Cell, key: string, extent: Extent, far = false): Cell | undefined {
  const lastRow = extent.rows - 1;
  const lastColumn = extent.columns - 1;
  const to = (r: number, c: number): Cell => ({
    row: Math.min(lastRow, Math.max(0, r)),
    column: Math.min(lastColumn, Math.max(0, c)),
  });
  switch (key) {
    case 'ArrowUp':
      return to(far ? 0 : row - 1, column);
    case 'ArrowDown':
      return to(far ? lastRow : row + 1, column);
    case 'ArrowLeft':
      return to(row, far ? 0 : column - 1);
    case 'ArrowRight':
      return to(row, far ? lastColumn : column + 1);
    case 'Home':
      return to(far ? 0 : row, 0);
    case 'End':
      return to(far ? lastRow : row, lastColumn);
    case 'PageUp':
      return to(row - extent.page, column);
    case 'PageDown':
      return to(row + extent.page, column);
    default:
      return undefined;
  }
}

/** To the next cell in reading order, or the one before; `undefined` at the ends. */
export function stepped({ row, column }: Cell, way: 1 | -1, { rows, columns }: Extent): Cell | undefined {
  const place = row * columns + column + way;
  if (place < 0 || place >= rows * columns) return undefined;
  return { row: Math.floor(place / columns), column: place % columns };
}

export interface Range {
  readonly top: number;
  readonly bottom: number;
  readonly left: number;
  readonly right: number;
}

/** Both corners included, whichever was first. */
export function rangeOf(a: Cell, b: Cell): Range {
  return {
    top: Math.min(a.row, b.row),
    bottom: Math.max(a.row, b.row),
    left: Math.min(a.column, b.column),
    right: Math.max(a.column, b.column),
  };
}

export function within({ top, bottom, left, right }: Range, row: number, column: number): boolean {
  return row >= top && row <= bottom && column >= left && column <= right;
}

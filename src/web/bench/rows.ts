/** The column as a list: points in signal order under their stages, each supply family under a scale of its own. */

import type { BenchRow, PointView } from '../../server/index.ts';

export type Item =
  | { readonly kind: 'scale'; readonly family: number }
  | { readonly kind: 'group'; readonly text: string; readonly family: number }
  | { readonly kind: 'row'; readonly point: PointView; readonly row: BenchRow; readonly name: string };

/**
 * @param headFamily  the family whose scale stands in the head already
 * @param board  only the points of this board; all without it
 */
export function itemsOf(
  points: readonly PointView[],
  rows: readonly BenchRow[],
  headFamily: number,
  board?: string,
): Item[] {
  const byPoint = new Map(rows.map((row) => [row.point, row]));
  const families = [...new Set(points.map(({ family }) => family))].sort((a, b) => a - b);
  return families.flatMap((family) => {
    const items: Item[] = [];
    let group: string | undefined;
    for (const point of points) {
      const row = byPoint.get(point.point);
      if (point.family !== family || !row || (board !== undefined && point.board !== board)) continue;
      const text = groupWords(point);
      if (text !== group) items.push({ kind: 'group', text, family });
      group = text;
      items.push({ kind: 'row', point, row, name: shortName(point) });
    }
    if (items.length === 0) return [];
    return family === headFamily ? items : [{ kind: 'scale', family }, ...items];
  });
}

/** Rows of which nothing is known yet. */
export function blankRows(points: readonly PointView[]): BenchRow[] {
  return points.map(({ point }) => ({
    point,
    sound: null,
    drawing: null,
    learnt: false,
    twins: [],
    reading: null,
    off: null,
    verdict: null,
  }));
}

function groupWords({ board, group }: PointView): string {
  if (group === '' && board === '') return 'On no board';
  return group === board || board === '' ? group : `${group}, board ${board}`;
}

/** Without the board that the group names already. */
export function shortName({ point, board }: Pick<PointView, 'point' | 'board'>): string {
  return board !== '' && point.startsWith(`${board}/`) ? point.slice(board.length + 1) : point;
}

/** Board and the rest, for the large name of the head; a net has no board in its name. */
export function nameParts(point: string): { readonly board: string; readonly rest: string } {
  const slash = point.indexOf('/');
  return slash < 0
    ? { board: '', rest: point }
    : { board: point.slice(0, slash), rest: point.slice(slash + 1) };
}

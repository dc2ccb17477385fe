/** Lines of a bench sheet on pages of a given height: no page break within a stage that fits on a page. */

export interface Heights {
  readonly row: number;
  readonly group: number;
  /** Of a scale that stands in a group's place because its supply family is another one than before. */
  readonly scale: number;
}

export interface Group<Row> {
  readonly text: string;
  readonly family: number;
  readonly rows: readonly Row[];
}

/**
 * The groups of each page. A group that would be cut goes to the next page; one that is longer than a page goes on there under
 * its own name.
 *
 * @param rooms  room for groups on the first page and on each later one, in the unit of `heights`; with less than a group and a row
 *   of room, a page still takes one row, so that there is an end
 */
export function pagesOf<Row>(
  groups: readonly Group<Row>[],
  heights: Heights,
  [first, later]: readonly [number, number],
): Group<Row>[][] {
  const pages: Group<Row>[][] = [[]];
  let room = first;
  const fresh = (): void => {
    pages.push([]);
    room = later;
  };
  for (const group of groups) {
    let rows = group.rows;
    const head = (): number => {
      const before = pages.at(-1)!.at(-1);
      return heights.group + (before !== undefined && before.family !== group.family ? heights.scale : 0);
    };
    const whole = (): number => head() + rows.length * heights.row;
    if (whole() > room && pages.at(-1)!.length > 0 && heights.group + rows.length * heights.row <= later)
      fresh();
    while (rows.length > 0) {
      let fits = Math.floor((room - head()) / heights.row + 1e-9);
      if (fits < 1 && pages.at(-1)!.length > 0) {
        fresh();
        continue;
      }
      // A first page without room is left to what stands on it anyway.
      if (fits < 1 && pages.length === 1 && later > first) {
        fresh();
        continue;
      }
      fits = Math.max(1, fits);
      room -= head() + Math.min(fits, rows.length) * heights.row;
      pages.at(-1)!.push({ ...group, rows: rows.slice(0, fits) });
      rows = rows.slice(fits);
    }
  }
  return pages;
}

import type { Pattern } from './pattern.ts';

/**
 * An elimination order with little fill: at each step the unknown with the fewest remaining neighbours goes
 * first, the lowest index among equals, and its neighbours become neighbours of each other.
 *
 * @returns length `n`; `order[k]` is the unknown that is eliminated in step `k`
 */
export function minimumDegreeOrder(pattern: Pattern): Int32Array {
  const { n, rowStart, column } = pattern;
  const neighbours: Set<number>[] = [];
  for (let i = 0; i < n; i++) {
    const row = new Set(column.subarray(rowStart[i]!, rowStart[i + 1]!));
    row.delete(i);
    neighbours.push(row);
  }
  const buckets: Set<number>[] = Array.from({ length: n }, () => new Set<number>());
  for (let i = 0; i < n; i++) buckets[neighbours[i]!.size]!.add(i);
  const order = new Int32Array(n);
  let degree = 0;
  for (let k = 0; k < n; k++) {
    while (buckets[degree]!.size === 0) degree++;
    const [pivot] = buckets[degree]! as unknown as Iterable<number>;
    const front = [...neighbours[pivot!]!];
    buckets[degree]!.delete(pivot!);
    order[k] = pivot!;
    for (const i of front) buckets[neighbours[i]!.size]!.delete(i);
    for (const i of front) {
      const row = neighbours[i]!;
      row.delete(pivot!);
      for (const j of front) if (j !== i) row.add(j);
    }
    for (const i of front) {
      buckets[neighbours[i]!.size]!.add(i);
      if (neighbours[i]!.size < degree) degree = neighbours[i]!.size;
    }
  }
  return order;
}

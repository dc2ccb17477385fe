/**
 * A small sparse matrix for the true physics: symmetric pattern, minimum-degree order, row-wise elimination
 * with pivots on the diagonal. Written apart from the program's own, and for plainness before speed. The
 * caller checks Kirchhoff's sums of what comes out, so a poor pivot cannot pass unnoticed.
 */
export interface Matrix {
  readonly size: number;
  /** Values of A in row lists; the caller fills this at positions from `position` and calls `factor`. */
  readonly values: Float64Array;
  /** Where A[row][column] stands in `values`. */
  position(row: number, column: number): number;
  /** Eliminates. Returns the number of negative pivots, or -1 when a pivot vanishes or is not finite. */
  factor(): number;
  /** x = A^-1 b, in place. */
  solve(b: Float64Array): void;
  /** x = A^-T b, in place. */
  solveTransposed(b: Float64Array): void;
}

function minimumDegree(neighbours: Set<number>[]): number[] {
  const n = neighbours.length;
  const alive = neighbours.map((s) => new Set(s));
  const buckets: Set<number>[] = [];
  const put = (i: number) => {
    const d = alive[i]!.size;
    while (buckets.length <= d) buckets.push(new Set());
    buckets[d]!.add(i);
  };
  for (let i = 0; i < n; i++) put(i);
  const order: number[] = [];
  while (order.length < n) {
    let d = 0;
    while (buckets[d]!.size === 0) d++;
    const i = buckets[d]!.values().next().value as number;
    buckets[d]!.delete(i);
    order.push(i);
    const around = [...alive[i]!];
    for (const j of around) buckets[alive[j]!.size]!.delete(j);
    for (const j of around) {
      const set = alive[j]!;
      set.delete(i);
      for (const k of around) if (k !== j) set.add(k);
    }
    for (const j of around) put(j);
  }
  return order;
}

/** A matrix whose off-diagonal places are the given pairs of unknowns (both ways) and the whole diagonal. */
export function matrixOf(size: number, pairs: Iterable<readonly [number, number]>): Matrix {
  const neighbours: Set<number>[] = Array.from({ length: size }, () => new Set());
  for (const [a, b] of pairs) {
    if (a === b) continue;
    neighbours[a]!.add(b);
    neighbours[b]!.add(a);
  }
  const order = minimumDegree(neighbours);
  const place = new Int32Array(size); // place of an unknown in the order
  order.forEach((unknown, i) => {
    place[unknown] = i;
  });

  // Fill, row by row in the order: rows[i] holds the columns of L and U together.
  const rows: Set<number>[] = Array.from({ length: size }, (_, i) => {
    const row = new Set<number>([i]);
    for (const j of neighbours[order[i]!]!) row.add(place[j]!);
    return row;
  });
  for (let k = 0; k < size; k++) {
    const later = [...rows[k]!].filter((j) => j > k);
    for (const i of later) for (const j of later) rows[i]!.add(j);
  }
  const start = new Int32Array(size + 1);
  const columns: number[] = [];
  const diagonal = new Int32Array(size);
  for (let i = 0; i < size; i++) {
    const sorted = [...rows[i]!].sort((a, b) => a - b);
    for (const j of sorted) {
      if (j === i) diagonal[i] = columns.length;
      columns.push(j);
    }
    start[i + 1] = columns.length;
  }
  const column = Int32Array.from(columns);
  const values = new Float64Array(columns.length);
  const lu = new Float64Array(columns.length);
  const work = new Float64Array(size);
  const permuted = new Float64Array(size);

  const position = (row: number, col: number): number => {
    const i = place[row]!;
    const j = place[col]!;
    let low = start[i]!;
    let high = start[i + 1]! - 1;
    while (low <= high) {
      const middle = (low + high) >> 1;
      if (column[middle]! === j) return middle;
      if (column[middle]! < j) low = middle + 1;
      else high = middle - 1;
    }
    throw new RangeError(`no place for row ${row}, column ${col} in the pattern`);
  };

  const factor = (): number => {
    let negative = 0;
    for (let i = 0; i < size; i++) {
      const from = start[i]!;
      const to = start[i + 1]!;
      const middle = diagonal[i]!;
      for (let p = from; p < to; p++) work[column[p]!] = values[p]!;
      for (let p = from; p < middle; p++) {
        const k = column[p]!;
        const factorOfRow = work[k]! * lu[diagonal[k]!]!;
        lu[p] = factorOfRow;
        if (factorOfRow === 0) continue;
        for (let q = diagonal[k]! + 1; q < start[k + 1]!; q++)
          work[column[q]!] = work[column[q]!]! - factorOfRow * lu[q]!;
      }
      const pivot = work[i]!;
      if (pivot === 0 || !Number.isFinite(pivot)) return -1;
      if (pivot < 0) negative++;
      lu[middle] = 1 / pivot;
      for (let p = middle + 1; p < to; p++) lu[p] = work[column[p]!]!;
    }
    return negative;
  };

  const solve = (b: Float64Array): void => {
    for (let i = 0; i < size; i++) {
      let sum = b[order[i]!]!;
      for (let p = start[i]!; p < diagonal[i]!; p++) sum -= lu[p]! * permuted[column[p]!]!;
      permuted[i] = sum;
    }
    for (let i = size - 1; i >= 0; i--) {
      let sum = permuted[i]!;
      for (let p = diagonal[i]! + 1; p < start[i + 1]!; p++) sum -= lu[p]! * permuted[column[p]!]!;
      permuted[i] = sum * lu[diagonal[i]!]!;
    }
    for (let i = 0; i < size; i++) b[order[i]!] = permuted[i]!;
  };

  const solveTransposed = (b: Float64Array): void => {
    for (let i = 0; i < size; i++) permuted[i] = b[order[i]!]!;
    for (let i = 0; i < size; i++) {
      const x = permuted[i]! * lu[diagonal[i]!]!;
      permuted[i] = x;
      if (x === 0) continue;
      for (let p = diagonal[i]! + 1; p < start[i + 1]!; p++)
        permuted[column[p]!] = permuted[column[p]!]! - lu[p]! * x;
    }
    for (let i = size - 1; i >= 0; i--) {
      const x = permuted[i]!;
      if (x === 0) continue;
      for (let p = start[i]!; p < diagonal[i]!; p++)
        permuted[column[p]!] = permuted[column[p]!]! - lu[p]! * x;
    }
    for (let i = 0; i < size; i++) b[order[i]!] = permuted[i]!;
  };

  return { size, values, position, factor, solve, solveTransposed };
}

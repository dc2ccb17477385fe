import type { Pattern } from './pattern.ts';

/** Times the square root of n: a pivot this small beside its row's largest entry is what rounding leaves of zero. */
const SINGULAR = 8 * Number.EPSILON;

/**
 * Solves A x = b by row operations on sparse rows with partial pivoting: the safe way when diagonal pivots
 * fail. Slow beside `SparseLU` (it finds its pattern anew each time).
 *
 * @param values      A, in the order of the pattern's entries
 * @param b           length n, left as it is
 * @param transposed  solve Aᵀ x = b instead
 * @returns x, or undefined when A is singular to working precision or not finite
 */
export function pivotedSolve(
  pattern: Pattern,
  values: Float64Array,
  b: Float64Array,
  transposed = false,
): Float64Array | undefined {
  const { n, rowStart, column } = pattern;
  const rows: Map<number, number>[] = Array.from({ length: n }, () => new Map());
  const holders: Set<number>[] = Array.from({ length: n }, () => new Set());
  const scale = new Float64Array(n);
  for (let i = 0; i < n; i++) {
    for (let e = rowStart[i]!; e < rowStart[i + 1]!; e++) {
      const value = values[e]!;
      if (!Number.isFinite(value)) return undefined;
      const row = transposed ? column[e]! : i;
      const at = transposed ? i : column[e]!;
      if (value === 0) continue;
      rows[row]!.set(at, value);
      holders[at]!.add(row);
      scale[row] = Math.max(scale[row]!, Math.abs(value));
    }
  }
  const x = b.slice();
  const pivotRows: number[] = [];
  const pivotColumns: number[] = [];
  const open = new Set<number>(Array.from({ length: n }, (_, k) => k));
  for (let k = 0; k < n; k++) {
    let pivotColumn = -1;
    for (const c of open)
      if (pivotColumn < 0 || holders[c]!.size < holders[pivotColumn]!.size) pivotColumn = c;
    let pivotRow = -1;
    let best = 0;
    for (const r of holders[pivotColumn]!) {
      const size = Math.abs(rows[r]!.get(pivotColumn)!) / scale[r]!;
      if (size > best) {
        best = size;
        pivotRow = r;
      }
    }
    if (pivotRow < 0 || best < SINGULAR * Math.sqrt(n)) return undefined;
    open.delete(pivotColumn);
    pivotRows.push(pivotRow);
    pivotColumns.push(pivotColumn);
    const source = rows[pivotRow]!;
    const pivot = source.get(pivotColumn)!;
    for (const c of source.keys()) holders[c]!.delete(pivotRow);
    for (const r of holders[pivotColumn]!) {
      const target = rows[r]!;
      const factor = target.get(pivotColumn)! / pivot;
      target.delete(pivotColumn);
      for (const [c, value] of source) {
        if (c === pivotColumn) continue;
        target.set(c, (target.get(c) ?? 0) - factor * value);
        holders[c]!.add(r);
      }
      x[r]! -= factor * x[pivotRow]!;
    }
    holders[pivotColumn]!.clear();
  }
  const answer = new Float64Array(n);
  for (let k = n - 1; k >= 0; k--) {
    const row = rows[pivotRows[k]!]!;
    let sum = x[pivotRows[k]!]!;
    for (const [c, value] of row) if (c !== pivotColumns[k]) sum -= value * answer[c]!;
    answer[pivotColumns[k]!] = sum / row.get(pivotColumns[k]!)!;
  }
  return answer.every(Number.isFinite) ? answer : undefined;
}

/**
 * How far x is from solving A x = b: the largest over rows of |b - A x| / (|A| |x| + |b|), the componentwise
 * backward error; 0 is exact, a few 1e-16 is as good as doubles get, NaN when something is not finite.
 *
 * @source Oettli & Prager, Numer. Math. 6 (1964) 405-409 (from memory)
 */
export function residual(pattern: Pattern, values: Float64Array, x: Float64Array, b: Float64Array): number {
  const { n, rowStart, column } = pattern;
  let largest = 0;
  for (let i = 0; i < n; i++) {
    let difference = b[i]!;
    let size = Math.abs(difference);
    for (let e = rowStart[i]!; e < rowStart[i + 1]!; e++) {
      const term = values[e]! * x[column[e]!]!;
      difference -= term;
      size += Math.abs(term);
    }
    if (size === 0) continue;
    const error = Math.abs(difference) / size;
    if (!(error <= largest)) largest = error;
    if (Number.isNaN(largest)) return largest;
  }
  return largest;
}

import type { Symbolic } from './symbolic.ts';

/**
 * LU factors of a matrix with the pattern of `symbolic`, pivots on the diagonal. Fill `values` (pattern order),
 * call `refactor`, then `solve` as often as wanted; nothing is allocated after construction.
 */
export class SparseLU {
  readonly symbolic: Symbolic;
  /** The matrix, in the order of the pattern's entries; filled by the caller. */
  readonly values: Float64Array;
  private readonly factors: Float64Array;
  private readonly work: Float64Array;

  constructor(symbolic: Symbolic) {
    this.symbolic = symbolic;
    this.values = new Float64Array(symbolic.pattern.column.length);
    this.factors = new Float64Array(symbolic.column.length);
    this.work = new Float64Array(symbolic.pattern.n);
  }

  /** Factors the present `values`; false when a pivot is zero or not finite, and then `solve` has no meaning. */
  refactor(): boolean {
    const { symbolic, factors, values, work } = this;
    const { rowStart, column, diagonal, destination } = symbolic;
    const n = diagonal.length;
    let check = 0;
    factors.fill(0);
    for (let e = 0; e < values.length; e++) factors[destination[e]!] = values[e]!;
    for (let k = 0; k < n; k++) {
      const start = rowStart[k]!;
      const pivotAt = diagonal[k]!;
      const end = rowStart[k + 1]!;
      for (let p = start; p < end; p++) work[column[p]!] = factors[p]!;
      for (let p = start; p < pivotAt; p++) {
        const j = column[p]!;
        const l = work[j]! * factors[diagonal[j]!]!;
        factors[p] = l;
        for (let q = diagonal[j]! + 1; q < rowStart[j + 1]!; q++) work[column[q]!]! -= l * factors[q]!;
      }
      const pivot = work[k]!;
      factors[pivotAt] = 1 / pivot;
      check += pivot * factors[pivotAt]!;
      for (let p = pivotAt + 1; p < end; p++) factors[p] = work[column[p]!]!;
    }
    return Number.isFinite(check);
  }

  /** Solves A x = b; `b` (length n, original numbering) is overwritten by x. */
  solve(b: Float64Array): void {
    const { symbolic, factors, work } = this;
    const { order, rowStart, column, diagonal } = symbolic;
    const n = order.length;
    for (let k = 0; k < n; k++) {
      let sum = b[order[k]!]!;
      for (let p = rowStart[k]!; p < diagonal[k]!; p++) sum -= factors[p]! * work[column[p]!]!;
      work[k] = sum;
    }
    for (let k = n - 1; k >= 0; k--) {
      let sum = work[k]!;
      for (let p = diagonal[k]! + 1; p < rowStart[k + 1]!; p++) sum -= factors[p]! * work[column[p]!]!;
      work[k] = sum * factors[diagonal[k]!]!;
    }
    for (let k = 0; k < n; k++) b[order[k]!] = work[k]!;
  }

  /** Solves Aᵀ x = b; `b` (length n, original numbering) is overwritten by x. */
  solveTransposed(b: Float64Array): void {
    const { symbolic, factors, work } = this;
    const { order, rowStart, column, diagonal } = symbolic;
    const n = order.length;
    for (let k = 0; k < n; k++) work[k] = b[order[k]!]!;
    for (let k = 0; k < n; k++) {
      const x = work[k]! * factors[diagonal[k]!]!;
      work[k] = x;
      for (let p = diagonal[k]! + 1; p < rowStart[k + 1]!; p++) work[column[p]!]! -= factors[p]! * x;
    }
    for (let k = n - 1; k >= 0; k--) {
      const x = work[k]!;
      for (let p = rowStart[k]!; p < diagonal[k]!; p++) work[column[p]!]! -= factors[p]! * x;
    }
    for (let k = 0; k < n; k++) b[order[k]!] = work[k]!;
  }

  /** Pivots below zero after `refactor`; an odd number means a negative determinant. */
  get negativePivots(): number {
    let count = 0;
    for (const at of this.symbolic.diagonal) if (this.factors[at]! < 0) count++;
    return count;
  }

  /** Smallest of |pivot| / largest magnitude in the pivot's row of U; a small one warns of growth. */
  get smallestPivotRatio(): number {
    const { rowStart, diagonal } = this.symbolic;
    let smallest = 1;
    for (let k = 0; k < diagonal.length; k++) {
      const pivot = Math.abs(1 / this.factors[diagonal[k]!]!);
      for (let p = diagonal[k]! + 1; p < rowStart[k + 1]!; p++) {
        const ratio = pivot / Math.abs(this.factors[p]!);
        if (ratio < smallest) smallest = ratio;
      }
    }
    return smallest;
  }
}

/**
 * A Gaussian over many deviations, known through readings that each depend on a few of them.
 *
 * Kept in information form, L = prior + sum of s s' / r, which stays sparse where a covariance would be full; the
 * sparse factorisation is the circuit's own.
 *
 * Deviations start from a prior mean and precision; a reading is value = row · deviations + noise of variance r.
 */
import { entryAt, patternOf, SparseLU, symbolicFactor } from '../circuit/index.ts';

/** One row of sensitivities: `values[k]` volts for one spread of deviation `indices[k]`. */
export interface Row {
  readonly indices: Int32Array;
  readonly values: Float64Array;
}

export const NO_ROW: Row = { indices: new Int32Array(0), values: new Float64Array(0) };

export interface GaussianDatum {
  readonly row: Row;
  /** Reading minus expected, volts. */
  readonly residual: number;
  /** Variance of everything that the row does not explain, V². */
  readonly variance: number;
}

/** Prior couplings: precision entries between two deviations (the diagonal included). */
export interface Coupling {
  readonly i: number;
  readonly k: number;
  readonly precision: number;
}

/** Deviations that are known through readings: mean and covariance, asked row by row. */
export interface Deviations {
  readonly size: number;
  readonly mean: Float64Array;
  /** Covariance times the row: what each deviation shares with a reading; length `size`, kept for the row and not to be changed. */
  covariance(row: Row): Float64Array;
  /** What this one is a change of; itself where it is none. */
  readonly root: Deviations;
  /** Covariance of readings with these rows, row-major. */
  between(rows: readonly Row[]): Float64Array;
  /** Turns the root's covariance of readings with these rows into this one's, in place. */
  correct(rows: readonly Row[], matrix: Float64Array): void;
  /** Mean of the deviations when readings, each with its row, pull by `weights` (inverse covariance times residual). */
  pulled(rows: readonly Row[], weights: Float64Array): Float64Array;
}

/** A change of a variance by less is none, V²: a millionth of what a millivolt's is. */
const NOTHING = 1e-12;
/** So many rows' covariances are kept. */
const MOST_KEPT = 6000;

/** Mean and covariance of the deviations given the data; both are asked row by row. */
export class SparseGaussian implements Deviations {
  readonly size: number;
  readonly mean: Float64Array;
  private readonly lu: SparseLU;
  private readonly columns = new Map<number, Float64Array>();
  private shared = new WeakMap<Row, Float64Array>();
  private kept = 0;

  constructor(size: number, prior: readonly Coupling[], start: Float64Array, data: readonly GaussianDatum[]) {
    this.size = size;
    const pairs: number[] = [];
    for (const c of prior) if (c.i !== c.k) pairs.push(c.i, c.k);
    const clique = (indices: Int32Array): void => {
      for (let a = 0; a < indices.length; a++)
        for (let b = 0; b < a; b++) pairs.push(indices[a]!, indices[b]!);
    };
    for (const d of data) clique(d.row.indices);
    const pattern = patternOf(size, Int32Array.from(pairs));
    this.lu = new SparseLU(symbolicFactor(pattern));
    const { values } = this.lu;
    this.mean = new Float64Array(size);
    for (const c of prior) {
      values[entryAt(pattern, c.i, c.k)]! += c.precision;
      this.mean[c.i]! += c.precision * start[c.k]!;
    }
    for (const { row, residual, variance } of data) {
      const { indices, values: s } = row;
      for (let a = 0; a < indices.length; a++) {
        const w = s[a]! / variance;
        this.mean[indices[a]!]! += w * residual;
        for (let b = 0; b < indices.length; b++)
          values[entryAt(pattern, indices[a]!, indices[b]!)]! += w * s[b]!;
      }
    }
    if (!this.lu.refactor())
      throw new RangeError('deviations have no proper prior: a precision matrix is singular');
    this.lu.solve(this.mean);
  }

  covariance(row: Row): Float64Array {
    const known = this.shared.get(row);
    if (known) return known;
    if (this.kept++ > MOST_KEPT) {
      this.shared = new WeakMap();
      this.kept = 0;
    }
    const b = new Float64Array(this.size);
    for (let k = 0; k < row.indices.length; k++) {
      const column = this.column(row.indices[k]!);
      const s = row.values[k]!;
      for (let i = 0; i < b.length; i++) b[i]! += s * column[i]!;
    }
    this.shared.set(row, b);
    return b;
  }

  /** Covariance of one deviation with all. Rows share few deviations, so each column is solved for once. */
  private column(index: number): Float64Array {
    let column = this.columns.get(index);
    if (!column) {
      column = new Float64Array(this.size);
      column[index] = 1;
      this.lu.solve(column);
      this.columns.set(index, column);
    }
    return column;
  }

  between(rows: readonly Row[]): Float64Array {
    const n = rows.length;
    const matrix = new Float64Array(n * n);
    rows.forEach((row, i) => {
      const shared = this.covariance(row);
      for (let k = 0; k <= i; k++) {
        const c = rowTimes(rows[k]!, shared);
        matrix[i * n + k] = c;
        matrix[k * n + i] = c;
      }
    });
    return matrix;
  }

  get root(): Deviations {
    return this;
  }

  correct(): void {}

  pulled(rows: readonly Row[], weights: Float64Array): Float64Array {
    const b = pull(this.size, rows, weights);
    this.lu.solve(b);
    for (let i = 0; i < b.length; i++) b[i]! += this.mean[i]!;
    return b;
  }

  /** Covariance times a full vector, in place. */
  spread(b: Float64Array): void {
    this.lu.solve(b);
  }
}

/** A reading that comes (or goes: negative numbers). */
export interface Change {
  readonly row: Row;
  /** 1 / variance. */
  readonly precision: number;
  /** Residual / variance. */
  readonly pull: number;
}

/**
 * A Gaussian with some readings more or less than another, by rank-one updates (Sherman and Morrison) of what that one gives: for the
 * precision d s s' added, C - d v v' / (1 + d s'v) with v = C s.
 */
export class ChangedGaussian implements Deviations {
  readonly size: number;
  readonly mean: Float64Array;
  readonly root: SparseGaussian;
  private readonly corrections: { readonly scale: number; readonly along: Float64Array }[];
  private readonly kept = new WeakMap<Row, Float64Array>();

  private constructor(before: SparseGaussian | ChangedGaussian) {
    this.size = before.size;
    this.mean = before.mean.slice();
    this.root = before instanceof ChangedGaussian ? before.root : before;
    this.corrections = before instanceof ChangedGaussian ? [...before.corrections] : [];
  }

  /** Undefined when there are more than `most` changes since the factorisation, or a reading goes that had never come. */
  static of(
    before: SparseGaussian | ChangedGaussian,
    changes: readonly Change[],
    most: number,
  ): ChangedGaussian | undefined {
    const next = new ChangedGaussian(before);
    if (next.corrections.length + changes.length > most) return undefined;
    for (const change of changes) if (!next.take(change)) return undefined;
    return next;
  }

  private take({ row, precision, pull }: Change): boolean {
    const along = this.shared(row);
    const factor = 1 + precision * rowTimes(row, along);
    if (!(factor > 1e-6)) return false;
    const step = (pull - precision * rowTimes(row, this.mean)) / factor;
    for (let i = 0; i < along.length; i++) this.mean[i]! += step * along[i]!;
    this.corrections.push({ scale: precision / factor, along });
    return true;
  }

  private shared(row: Row): Float64Array {
    const b = this.root.covariance(row).slice();
    for (const { scale, along } of this.corrections) {
      const f = scale * rowTimes(row, along);
      if (f !== 0) for (let i = 0; i < b.length; i++) b[i]! -= f * along[i]!;
    }
    return b;
  }

  covariance(row: Row): Float64Array {
    let found = this.kept.get(row);
    if (!found) {
      found = this.shared(row);
      this.kept.set(row, found);
    }
    return found;
  }

  between(rows: readonly Row[]): Float64Array {
    const matrix = this.root.between(rows);
    this.correct(rows, matrix);
    return matrix;
  }

  correct(rows: readonly Row[], matrix: Float64Array): void {
    const n = rows.length;
    const seen = new Float64Array(n);
    const felt: number[] = [];
    for (const { scale, along } of this.corrections) {
      felt.length = 0;
      for (let i = 0; i < n; i++) {
        seen[i] = rowTimes(rows[i]!, along);
        if (Math.abs(scale) * seen[i]! ** 2 > NOTHING) felt.push(i);
      }
      for (const i of felt) {
        const f = scale * seen[i]!;
        for (const k of felt) matrix[i * n + k]! -= f * seen[k]!;
      }
    }
  }

  pulled(rows: readonly Row[], weights: Float64Array): Float64Array {
    const b = pull(this.size, rows, weights);
    const factors = this.corrections.map(({ scale, along }) => {
      let sum = 0;
      for (let i = 0; i < b.length; i++) sum += along[i]! * b[i]!;
      return scale * sum;
    });
    this.root.spread(b);
    this.corrections.forEach(({ along }, k) => {
      for (let i = 0; i < b.length; i++) b[i]! -= factors[k]! * along[i]!;
    });
    for (let i = 0; i < b.length; i++) b[i]! += this.mean[i]!;
    return b;
  }
}

/** Sum of the rows, each with its weight. */
function pull(size: number, rows: readonly Row[], weights: Float64Array): Float64Array {
  const b = new Float64Array(size);
  rows.forEach(({ indices, values }, i) => {
    const w = weights[i]!;
    if (w !== 0) for (let k = 0; k < indices.length; k++) b[indices[k]!]! += w * values[k]!;
  });
  return b;
}

/** Row times a full vector. */
export function rowTimes(row: Row, x: Float64Array): number {
  let sum = 0;
  for (let k = 0; k < row.indices.length; k++) sum += row.values[k]! * x[row.indices[k]!]!;
  return sum;
}

/**
 * The entries of a dense row that matter, and the variance of those left out (to be added to the noise).
 *
 * @param share entries are dropped from the smallest up until they would make up this share of the variance
 */
export function sparseRow(
  dense: Float64Array,
  start: number,
  count: number,
  map: (parameter: number) => number,
  share = 2e-3,
): { row: Row; rest: number } {
  let total = 0;
  for (let p = 0; p < count; p++) total += dense[start + p]! ** 2;
  const floor = Math.max(total * share, 1e-8) / 12;
  const indices: number[] = [];
  const values: number[] = [];
  let rest = 0;
  for (let p = 0; p < count; p++) {
    const s = dense[start + p]!;
    if (s * s > floor) {
      indices.push(map(p));
      values.push(s);
    } else rest += s * s;
  }
  return { row: { indices: Int32Array.from(indices), values: Float64Array.from(values) }, rest };
}

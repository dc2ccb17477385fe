import { type Pattern, patternOf } from './pattern.ts';

/** A seeded generator of numbers from 0 to 1 (a 32-bit mixing counter). */
export function generator(seed: number): () => number {
  let state = seed | 0;
  return () => {
    state = (state + 0x9e3779b9) | 0;
    let mixed = Math.imul(state ^ (state >>> 16), 0x21f0aaad);
    mixed = Math.imul(mixed ^ (mixed >>> 15), 0x735a2d97);
    return ((mixed ^ (mixed >>> 15)) >>> 0) / 2 ** 32;
  };
}

/**
 * A random structurally symmetric, numerically unsymmetric system whose diagonal is heavy enough to pivot on.
 *
 * @param degree  neighbours of an unknown, on average
 * @param reach   how far off in the numbering a neighbour may be
 */
export function randomSystem(n: number, degree: number, seed: number, reach = n) {
  const random = generator(seed);
  const pairs: [number, number][] = [];
  for (let e = 0; e < (n * degree) / 2; e++) {
    const i = Math.floor(random() * n);
    const j = i + Math.round((2 * random() - 1) * reach);
    if (j >= 0 && j < n) pairs.push([i, j]);
  }
  const pattern = patternOf(n, pairs);
  const values = randomValues(pattern, random);
  return { pattern, values, b: Float64Array.from({ length: n }, () => random() - 0.5) };
}

/** Values for a pattern: off-diagonals of either sign, diagonals of either sign and larger than their row's sum. */
export function randomValues(pattern: Pattern, random: () => number): Float64Array {
  const values = new Float64Array(pattern.column.length);
  for (let i = 0; i < pattern.n; i++) {
    let sum = 0;
    let at = 0;
    for (let e = pattern.rowStart[i]!; e < pattern.rowStart[i + 1]!; e++) {
      if (pattern.column[e] === i) at = e;
      else values[e] = random() - 0.5;
      sum += Math.abs(values[e]!);
    }
    values[at] = (sum + random() + 0.01) * (random() < 0.3 ? -1 : 1);
  }
  return values;
}

export function dense(pattern: Pattern, values: Float64Array, transposed = false): number[][] {
  const rows = Array.from({ length: pattern.n }, () => new Array<number>(pattern.n).fill(0));
  for (let i = 0; i < pattern.n; i++)
    for (let e = pattern.rowStart[i]!; e < pattern.rowStart[i + 1]!; e++) {
      const j = pattern.column[e]!;
      if (transposed) rows[j]![i] = values[e]!;
      else rows[i]![j] = values[e]!;
    }
  return rows;
}

/** Dense elimination with partial pivoting: the reference of these tests. `sign` is that of the determinant. */
export function denseSolve(
  matrix: number[][],
  b: Float64Array,
): {
  x: number[];
  sign: number;
  smallestPivot: number;
} {
  const rows = matrix.map((row, i) => [...row, b[i]!]);
  const n = rows.length;
  let sign = 1;
  let smallestPivot = Number.POSITIVE_INFINITY;
  for (let k = 0; k < n; k++) {
    let best = k;
    for (let i = k; i < n; i++) if (Math.abs(rows[i]![k]!) > Math.abs(rows[best]![k]!)) best = i;
    if (best !== k) sign = -sign;
    [rows[k], rows[best]] = [rows[best]!, rows[k]!];
    sign *= Math.sign(rows[k]![k]!);
    smallestPivot = Math.min(smallestPivot, Math.abs(rows[k]![k]!));
    for (let i = k + 1; i < n; i++) {
      const factor = rows[i]![k]! / rows[k]![k]!;
      for (let j = k; j <= n; j++) rows[i]![j]! -= factor * rows[k]![j]!;
    }
  }
  const x = new Array<number>(n).fill(0);
  for (let k = n - 1; k >= 0; k--) {
    let sum = rows[k]![n]!;
    for (let j = k + 1; j < n; j++) sum -= rows[k]![j]! * x[j]!;
    x[k] = sum / rows[k]![k]!;
  }
  return { x, sign, smallestPivot };
}

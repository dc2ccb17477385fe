import { minimumDegreeOrder } from './order.ts';
import type { Pattern } from './pattern.ts';

/** Everything about a factorisation that depends on the pattern alone; made once for a circuit. */
export interface Symbolic {
  readonly pattern: Pattern;
  /** `order[k]` is the unknown that is eliminated in step `k`. */
  readonly order: Int32Array;
  readonly position: Int32Array;
  /** Step in which the column of each step is next needed; -1 at a root of the elimination tree. */
  readonly parent: Int32Array;
  /** Rows of the combined factors in step order: `[L row | pivot | U row]`, columns ascending. */
  readonly rowStart: Int32Array;
  readonly column: Int32Array;
  readonly diagonal: Int32Array;
  /** Place of each pattern entry among the factor's entries. */
  readonly destination: Int32Array;
}

/** The symbolic factorisation of a structurally symmetric matrix under its minimum-degree order. */
export function symbolicFactor(pattern: Pattern, order = minimumDegreeOrder(pattern)): Symbolic {
  const { n } = pattern;
  const position = new Int32Array(n);
  for (let k = 0; k < n; k++) position[order[k]!] = k;
  const above: Set<number>[] = Array.from({ length: n }, () => new Set<number>());
  const below: number[][] = Array.from({ length: n }, () => []);
  const parent = new Int32Array(n).fill(-1);
  for (let i = 0; i < n; i++) {
    for (let e = pattern.rowStart[i]!; e < pattern.rowStart[i + 1]!; e++) {
      const k = position[i]!;
      const j = position[pattern.column[e]!]!;
      if (j > k) above[k]!.add(j);
    }
  }
  const rowStart = new Int32Array(n + 1);
  const diagonal = new Int32Array(n);
  const rows: number[][] = [];
  for (let k = 0; k < n; k++) {
    const later = [...above[k]!].sort((a, b) => a - b);
    rows.push(later);
    for (const j of later) below[j]!.push(k);
    const next = later[0];
    if (next === undefined) continue;
    parent[k] = next;
    for (const j of later) if (j !== next) above[next]!.add(j);
  }
  for (let k = 0; k < n; k++) {
    diagonal[k] = rowStart[k]! + below[k]!.length;
    rowStart[k + 1] = diagonal[k]! + 1 + rows[k]!.length;
  }
  const column = new Int32Array(rowStart[n]!);
  for (let k = 0; k < n; k++) {
    column.set(below[k]!, rowStart[k]!);
    column[diagonal[k]!] = k;
    column.set(rows[k]!, diagonal[k]! + 1);
  }
  const destination = new Int32Array(pattern.column.length);
  const place = new Int32Array(n);
  for (let k = 0; k < n; k++) {
    for (let p = rowStart[k]!; p < rowStart[k + 1]!; p++) place[column[p]!] = p;
    const i = order[k]!;
    for (let e = pattern.rowStart[i]!; e < pattern.rowStart[i + 1]!; e++)
      destination[e] = place[position[pattern.column[e]!]!]!;
  }
  return { pattern, order, position, parent, rowStart, column, diagonal, destination };
}

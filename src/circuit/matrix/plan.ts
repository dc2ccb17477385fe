import type { Pattern } from './pattern.ts';
import type { Supernode, Symbolic } from './symbolic.ts';

/**
 * Where every number of a factorisation lies, and the tables that the loops read from front to back.
 *
 * Numbers are counted in places of 8 bytes for each system: values | values of last time | factors | contribution blocks |
 * right-hand side | check. The tables follow in 32-bit words; places in them are byte addresses. A supernode of r steps
 * with s later ones takes r rows of `[r x r block | r x s of U]`, the pivots replaced by their reciprocals, then
 * s rows of r of L.
 */
export interface Plan {
  readonly entries: number;
  readonly previous: number;
  readonly factors: number;
  readonly factorsEnd: number;
  readonly rightSide: number;
  /** Place that gathers pivot times reciprocal: finite when every pivot is finite and none is zero. */
  readonly check: number;
  readonly places: number;
  /** Place of each step's pivot, and how many entries of U follow it. */
  readonly pivots: Int32Array;
  readonly upperCounts: Int32Array;
  /** Words: one for each subtree, set when something below it has changed, and one that nobody reads. */
  readonly subtrees: number;
  /** For each subtree `HEADER` words, its entries' sources and destinations, its children, its runs. */
  readonly factorTable: Int32Array;
  /** For each run of like supernodes `[s, how many, r]`. */
  readonly runs: Int32Array;
  /** For each supernode the places, in the right-hand side, of its own steps and of the later ones. */
  readonly solveTable: Int32Array;
}

/** bytes to the next subtree | its parent's mark | entries | factors, bytes | contribution, bytes | children | runs */
export const HEADER = 9;

/** @param systems  how many systems are interleaved, number by number */
export function planOf(symbolic: Symbolic, systems: 1 | 2): Plan {
  const bytes = 8 * systems;
  const { pattern, order, position, supernodes, subtrees } = symbolic;
  const { n } = pattern;
  const entries = pattern.column.length;
  const nodeOf = new Int32Array(n);
  const subtreeOf = new Int32Array(supernodes.length);
  const base = new Int32Array(supernodes.length);
  const previous = entries;
  const factors = 2 * entries;
  let place = factors;
  for (const [index, { first, size, later }] of supernodes.entries()) {
    nodeOf.fill(index, first, first + size);
    base[index] = place;
    place += size * (size + 2 * later.length);
  }
  const factorsEnd = place;
  const contribution = subtrees.map((subtree) => {
    const start = place;
    place += subtree.boundary.length ** 2;
    return start;
  });
  for (const [index, { firstSupernode, endSupernode }] of subtrees.entries())
    subtreeOf.fill(index, firstSupernode, endSupernode);
  const rightSide = place;
  const check = rightSide + n;
  const places = check + 1;

  const among = new Int32Array(n); // a step's index among the later steps of the supernode at hand
  /** Places for a dense block over `steps` (ascending): in the factors of `subtree`, or in its contribution. */
  const blockPlaces = (steps: Int32Array, subtree: number): Int32Array => {
    const count = steps.length;
    const found = new Int32Array(count * count);
    const { boundary } = subtrees[subtree]!;
    let node = -1;
    for (let a = 0; a < count; a++) {
      const row = steps[a]!;
      if (subtreeOf[nodeOf[row]!] !== subtree) {
        for (let i = 0; i < boundary.length; i++) among[boundary[i]!] = i;
        for (let b = a; b < count; b++) {
          for (let c = a; c < count; c++)
            found[b * count + c] =
              contribution[subtree]! + among[steps[b]!]! * boundary.length + among[steps[c]!]!;
        }
        break;
      }
      if (nodeOf[row] !== node) {
        node = nodeOf[row]!;
        indexLater(supernodes[node]!);
      }
      for (let b = a; b < count; b++) {
        found[a * count + b] = rowPlace(node, row, steps[b]!);
        found[b * count + a] = columnPlace(node, steps[b]!, row);
      }
    }
    return found;
  };
  const indexLater = ({ later }: Supernode) => {
    for (let i = 0; i < later.length; i++) among[later[i]!] = i;
  };
  const rowPlace = (node: number, row: number, column: number): number => {
    const { first, size, later } = supernodes[node]!;
    const index = column < first + size ? column - first : size + among[column]!;
    return base[node]! + (row - first) * (size + later.length) + index;
  };
  const columnPlace = (node: number, row: number, column: number): number => {
    const { first, size, later } = supernodes[node]!;
    if (row < first + size) return base[node]! + (row - first) * (size + later.length) + column - first;
    return base[node]! + size * (size + later.length) + among[row]! * size + column - first;
  };

  const words: number[] = [];
  const allRuns: number[] = [];
  const solvePlaces: number[] = [];
  const mirror = mirrored(pattern);
  for (const [index, { firstSupernode, endSupernode, boundary, parent }] of subtrees.entries()) {
    const start = words.length;
    const sources: number[] = [];
    const destinations: number[] = [];
    for (let node = firstSupernode; node < endSupernode; node++) {
      const { first, size } = supernodes[node]!;
      indexLater(supernodes[node]!);
      for (let k = first; k < first + size; k++) {
        const i = order[k]!;
        for (let e = pattern.rowStart[i]!; e < pattern.rowStart[i + 1]!; e++) {
          const j = position[pattern.column[e]!]!;
          if (j < k) continue;
          sources.push(e);
          destinations.push(rowPlace(node, k, j));
          if (j === k) continue;
          sources.push(mirror[e]!);
          destinations.push(columnPlace(node, j, k));
        }
      }
    }
    const children = subtrees.flatMap((subtree, child) => (subtree.parent === index ? [child] : []));
    const runs = runsOf(supernodes.slice(firstSupernode, endSupernode));
    const end = endSupernode < supernodes.length ? base[endSupernode]! : factorsEnd;
    words.push(0, parent < 0 ? subtrees.length : parent, sources.length);
    words.push(base[firstSupernode]! * bytes, (end - base[firstSupernode]!) * bytes);
    words.push(contribution[index]! * bytes, boundary.length ** 2 * bytes, children.length, runs.length / 3);
    for (const source of sources) words.push(source * bytes);
    for (const destination of destinations) words.push(destination * bytes);
    for (const child of children) {
      const places = blockPlaces(subtrees[child]!.boundary, index);
      words.push(contribution[child]! * bytes, places.length);
      for (const at of places) words.push(at * bytes);
    }
    let node = firstSupernode;
    for (let run = 0; run < runs.length; run += 3) {
      words.push(runs[run]!, runs[run + 1]!, runs[run + 2]!);
      for (let count = runs[run + 1]!; count > 0; count--) {
        const { first, size, later } = supernodes[node++]!;
        for (const at of blockPlaces(later, index)) words.push(at * bytes);
        for (let k = first; k < first + size; k++) solvePlaces.push((rightSide + order[k]!) * bytes);
        for (const k of later) solvePlaces.push((rightSide + order[k]!) * bytes);
      }
    }
    allRuns.push(...runs);
    words[start] = (words.length - start) * 4;
  }

  const pivots = new Int32Array(n);
  const upperCounts = new Int32Array(n);
  for (const [index, { first, size, later }] of supernodes.entries()) {
    for (let k = 0; k < size; k++) {
      pivots[first + k] = base[index]! + k * (size + later.length + 1);
      upperCounts[first + k] = size - 1 - k + later.length;
    }
  }
  return {
    entries,
    previous,
    factors,
    factorsEnd,
    rightSide,
    check,
    places,
    pivots,
    upperCounts,
    subtrees: subtrees.length,
    factorTable: Int32Array.from(words),
    runs: Int32Array.from(allRuns),
    solveTable: Int32Array.from(solvePlaces),
  };
}

function runsOf(supernodes: readonly Supernode[]): number[] {
  const runs: number[] = [];
  for (const { size, later } of supernodes) {
    const last = runs.length - 3;
    if (last >= 0 && runs[last] === later.length && runs[last + 2] === size) runs[last + 1]!++;
    else runs.push(later.length, 1, size);
  }
  return runs;
}

/** For each entry of the pattern the entry on the other side of the diagonal. */
function mirrored(pattern: Pattern): Int32Array {
  const { n, rowStart, column } = pattern;
  const next = rowStart.slice();
  const mirror = new Int32Array(column.length);
  for (let i = 0; i < n; i++) {
    for (let e = rowStart[i]!; e < rowStart[i + 1]!; e++) mirror[e] = next[column[e]!]!++;
  }
  return mirror;
}

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
  /** Place of each step's pivot. */
  readonly pivots: Int32Array;
  /** How many. Each has a mark, a word that is set when something below it has changed; one more is never read. */
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

const plans = [new WeakMap<Symbolic, Plan>(), new WeakMap<Symbolic, Plan>()] as const;

/**
 * The plan, made once for a symbolic factorisation.
 *
 * @param systems  how many systems are interleaved, number by number
 */
export function planFor(symbolic: Symbolic, systems: 1 | 2): Plan {
  const known = plans[systems === 1 ? 0 : 1];
  let plan = known.get(symbolic);
  if (!plan) {
    plan = planOf(symbolic, systems);
    known.set(symbolic, plan);
  }
  return plan;
}

function planOf(symbolic: Symbolic, systems: 1 | 2): Plan {
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
  /** Writes the addresses of a dense block over `steps`: in the factors of `subtree`, or in its contribution. */
  const writeBlock = (steps: Int32Array, subtree: number): void => {
    const count = steps.length;
    const block = table.subarray(at, at + count * count);
    at += count * count;
    const { boundary } = subtrees[subtree]!;
    let node = -1;
    for (let a = 0; a < count; a++) {
      const row = steps[a]!;
      if (subtreeOf[nodeOf[row]!] !== subtree) {
        for (let i = 0; i < boundary.length; i++) among[boundary[i]!] = i;
        for (let b = a; b < count; b++) {
          const rowStart = contribution[subtree]! + among[steps[b]!]! * boundary.length;
          for (let c = a; c < count; c++) block[b * count + c] = (rowStart + among[steps[c]!]!) * bytes;
        }
        break;
      }
      if (nodeOf[row] !== node) {
        node = nodeOf[row]!;
        indexLater(supernodes[node]!);
      }
      for (let b = a; b < count; b++) {
        block[a * count + b] = rowPlace(node, row, steps[b]!) * bytes;
        block[b * count + a] = columnPlace(node, steps[b]!, row) * bytes;
      }
    }
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

  const runs = subtrees.map(({ firstSupernode, endSupernode }) =>
    runsOf(supernodes.slice(firstSupernode, endSupernode)),
  );
  const children: number[][] = subtrees.map(() => []);
  for (const [child, { parent }] of subtrees.entries()) children[parent]?.push(child);
  let words = subtrees.length * HEADER + 2 * entries + runs.flat().length;
  for (const { later } of supernodes) words += later.length ** 2;
  for (const { boundary, parent } of subtrees) if (parent >= 0) words += 2 + boundary.length ** 2;
  const table = new Int32Array(words);
  let at = 0;
  const write = (...numbers: number[]) => {
    for (const number of numbers) table[at++] = number;
  };
  const mirror = mirrored(pattern);
  for (const [index, { firstSupernode, endSupernode, boundary, parent }] of subtrees.entries()) {
    const start = at;
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
    const end = endSupernode < supernodes.length ? base[endSupernode]! : factorsEnd;
    write(0, parent < 0 ? subtrees.length : parent, sources.length);
    write(base[firstSupernode]! * bytes, (end - base[firstSupernode]!) * bytes);
    write(contribution[index]! * bytes, boundary.length ** 2 * bytes);
    write(children[index]!.length, runs[index]!.length / 3);
    for (const source of sources) write(source * bytes);
    for (const destination of destinations) write(destination * bytes);
    for (const child of children[index]!) {
      write(contribution[child]! * bytes, subtrees[child]!.boundary.length ** 2);
      writeBlock(subtrees[child]!.boundary, index);
    }
    let node = firstSupernode;
    for (let run = 0; run < runs[index]!.length; run += 3) {
      const [s, count, r] = runs[index]!.slice(run, run + 3) as [number, number, number];
      write(s, count, r);
      for (const end = node + count; node < end; node++) writeBlock(supernodes[node]!.later, index);
    }
    table[start] = (at - start) * 4;
  }
  const solveTable = supernodes.flatMap(({ first, size, later }) =>
    [...order.subarray(first, first + size), ...Array.from(later, (k) => order[k]!)].map(
      (unknown) => (rightSide + unknown) * bytes,
    ),
  );

  const pivots = new Int32Array(n);
  for (const [index, { first, size, later }] of supernodes.entries()) {
    for (let k = 0; k < size; k++) {
      pivots[first + k] = base[index]! + k * (size + later.length + 1);
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
    subtrees: subtrees.length,
    factorTable: table,
    runs: Int32Array.from(runs.flat()),
    solveTable: Int32Array.from(solveTable),
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

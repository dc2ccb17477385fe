import { minimumDegreeOrder } from './order.ts';
import type { Pattern } from './pattern.ts';

/** Everything about a factorisation that depends on the pattern alone; made once for a circuit. */
export interface Symbolic {
  readonly pattern: Pattern;
  /** `order[k]` is the unknown that is eliminated in step `k`. */
  readonly order: Int32Array;
  /** The step in which each unknown is eliminated: the inverse of `order`. */
  readonly position: Int32Array;
  /** For each step the first later step that it changes: the elimination tree; -1 at a root. */
  readonly parent: Int32Array;
  /** Entries of L, U and the pivots together. */
  readonly factorEntries: number;
  /** In the order of their steps. */
  readonly supernodes: readonly Supernode[];
  /** In the order of their steps. */
  readonly subtrees: readonly Subtree[];
}

/** Successive steps that change the same later steps, so that their entries form dense blocks. */
export interface Supernode {
  readonly first: number;
  readonly size: number;
  /** Steps after the supernode that it changes, ascending. */
  readonly later: Int32Array;
}

/**
 * A connected part of the elimination tree (the last may be several) whose effect on what comes after it is kept
 * apart, in a contribution block: while its entries stay as they are, it need not be done again.
 */
export interface Subtree {
  /** Supernodes `firstSupernode` to `endSupernode - 1`. */
  readonly firstSupernode: number;
  readonly endSupernode: number;
  /** Steps outside that it changes, ascending. */
  readonly boundary: Int32Array;
  /** The subtree of the first step of the boundary; -1 when there is no boundary. */
  readonly parent: number;
}

/** A single step that changes at most so many later ones has code of its own in the compiled loops. */
export const UNROLLED = 12;
/** Steps that change more later ones than this are joined to supernodes … */
const CHAINED = 8;
/** … even where they do not share quite all, which stores some zeros: the share allowed. */
const PADDING = 0.1;
/** A subtree is closed when it has at least so many multiplications … */
const SUBTREE_WORK = 600;
/** … and at least so many for each entry of its contribution block. */
const WORK_PER_CONTRIBUTION = 6;

/**
 * The symbolic factorisation of a structurally symmetric matrix.
 *
 * @param elimination  an elimination order; the steps are rearranged where that changes no entry of the factors
 */
export function symbolicFactor(pattern: Pattern, elimination = minimumDegreeOrder(pattern)): Symbolic {
  const { n } = pattern;
  const { later, parent } = eliminationTree(pattern, elimination);
  const members = supernodeMembers(later, parent);
  const { subtreeOf, roots } = subtreePartition(members, later, parent);

  const nodeOf = new Int32Array(n);
  for (const [node, steps] of members.entries()) for (const step of steps) nodeOf[step] = node;
  const sequence = scheduled(members, later, parent, nodeOf, subtreeOf, roots.length);

  const renumbered = new Int32Array(n);
  const order = new Int32Array(n);
  let step = 0;
  for (const node of sequence) {
    for (const old of members[node]!) {
      order[step] = elimination[old]!;
      renumbered[old] = step++;
    }
  }
  const position = new Int32Array(n);
  for (let k = 0; k < n; k++) position[order[k]!] = k;
  const newParent = new Int32Array(n);
  for (let k = 0; k < n; k++) newParent[renumbered[k]!] = parent[k]! < 0 ? -1 : renumbered[parent[k]!]!;

  const renumber = (steps: Int32Array) => steps.map((old) => renumbered[old]!).sort();
  const lastOf = (node: number) => members[node]!.at(-1)!;
  let factorEntries = 0;
  const supernodes = sequence.map((node): Supernode => {
    const size = members[node]!.length;
    const after = renumber(later[lastOf(node)]!);
    factorEntries += size * (size + 2 * after.length);
    return { first: renumbered[members[node]![0]!]!, size, later: after };
  });
  const subtrees: Subtree[] = [];
  for (let s = 0, at = 0; s < roots.length; s++) {
    const firstSupernode = at;
    while (at < sequence.length && subtreeOf[sequence[at]!] === s) at++;
    const root = roots[s]!;
    const up = root < 0 ? -1 : parent[lastOf(root)]!;
    subtrees.push({
      firstSupernode,
      endSupernode: at,
      boundary: root < 0 ? new Int32Array(0) : renumber(later[lastOf(root)]!),
      parent: up < 0 ? -1 : subtreeOf[nodeOf[up]!]!,
    });
  }
  return { pattern, order, position, parent: newParent, factorEntries, supernodes, subtrees };
}

/** For each step the later steps that it changes (not sorted), and the first of them. */
function eliminationTree(pattern: Pattern, order: Int32Array) {
  const { n, rowStart, column } = pattern;
  const position = new Int32Array(n);
  for (let k = 0; k < n; k++) position[order[k]!] = k;
  const parent = new Int32Array(n).fill(-1);
  const later: Int32Array[] = [];
  const children: number[][] = Array.from({ length: n }, () => []);
  const mark = new Int32Array(n).fill(-1);
  for (let k = 0; k < n; k++) {
    const found: number[] = [];
    const note = (j: number) => {
      if (j <= k || mark[j] === k) return;
      mark[j] = k;
      found.push(j);
      if (parent[k]! < 0 || j < parent[k]!) parent[k] = j;
    };
    const i = order[k]!;
    for (let e = rowStart[i]!; e < rowStart[i + 1]!; e++) note(position[column[e]!]!);
    for (const child of children[k]!) for (const j of later[child]!) note(j);
    later.push(Int32Array.from(found));
    if (parent[k]! >= 0) children[parent[k]!]!.push(k);
  }
  return { later, parent };
}

/**
 * Chains of steps that share their later steps but for a few, where these are many; other steps stay alone. The
 * chains come in the order of their last steps.
 */
function supernodeMembers(later: Int32Array[], parent: Int32Array): number[][] {
  const chains: number[][] = [];
  const chainOf: (number[] | undefined)[] = [];
  for (let k = 0; k < later.length; k++) {
    const chain = chainOf[k] ?? [];
    chain.push(k);
    const up = parent[k]!;
    const after = up < 0 ? 0 : later[up]!.length;
    if (after > CHAINED && after <= (1 + PADDING) * later[k]!.length && !chainOf[up]) chainOf[up] = chain;
    else chains.push(chain);
  }
  return chains;
}

/**
 * Cuts the tree where enough work has gathered below a supernode and little passes through it. The last subtree
 * takes what is left, and has no root of its own (-1).
 */
function subtreePartition(members: number[][], later: Int32Array[], parent: Int32Array) {
  const nodes = members.length;
  const nodeOf = new Int32Array(later.length);
  for (let node = 0; node < nodes; node++) for (const step of members[node]!) nodeOf[step] = node;
  const subtreeOf = new Int32Array(nodes).fill(-1);
  const work = new Float64Array(nodes);
  const roots: number[] = [];
  for (let node = 0; node < nodes; node++) {
    for (const step of members[node]!) work[node]! += 1 + later[step]!.length * (later[step]!.length + 1);
    const last = members[node]!.at(-1)!;
    const through = later[last]!.length;
    if (work[node]! >= SUBTREE_WORK && work[node]! >= WORK_PER_CONTRIBUTION * through * through) {
      subtreeOf[node] = roots.length;
      roots.push(node);
    } else if (parent[last]! >= 0) work[nodeOf[parent[last]!]!]! += work[node]!;
  }
  let leftOver = false;
  for (let node = nodes - 1; node >= 0; node--) {
    if (subtreeOf[node]! >= 0) continue;
    const up = parent[members[node]!.at(-1)!]!;
    subtreeOf[node] = up < 0 ? roots.length : subtreeOf[nodeOf[up]!]!;
    if (subtreeOf[node] === roots.length) leftOver = true;
  }
  if (leftOver || roots.length === 0) roots.push(-1);
  return { subtreeOf, roots };
}

/**
 * The supernodes, subtree after subtree, and within one so that long runs have the same number of later steps:
 * of those that are ready, always the ones with the fewest.
 */
function scheduled(
  members: number[][],
  later: Int32Array[],
  parent: Int32Array,
  nodeOf: Int32Array,
  subtreeOf: Int32Array,
  subtrees: number,
): number[] {
  const waiting = new Int32Array(members.length);
  const upOf = (node: number) => {
    const up = parent[members[node]!.at(-1)!]!;
    return up < 0 || subtreeOf[nodeOf[up]!] !== subtreeOf[node] ? -1 : nodeOf[up]!;
  };
  const ready: number[][][] = Array.from({ length: subtrees }, () => []);
  const makeReady = (node: number) => {
    const count = later[members[node]!.at(-1)!]!.length;
    const byCount = ready[subtreeOf[node]!]!;
    byCount[count] ??= [];
    byCount[count].push(node);
  };
  for (let node = 0; node < members.length; node++) {
    const up = upOf(node);
    if (up >= 0) waiting[up]!++;
  }
  for (let node = 0; node < members.length; node++) if (waiting[node] === 0) makeReady(node);

  const sequence: number[] = [];
  for (const byCount of ready) {
    const taken: number[] = [];
    for (let count = 0; count < byCount.length; ) {
      const node = byCount[count]?.[taken[count] ?? 0];
      if (node === undefined) {
        count++;
        continue;
      }
      taken[count] = (taken[count] ?? 0) + 1;
      sequence.push(node);
      const up = upOf(node);
      if (up < 0 || --waiting[up]! > 0) continue;
      makeReady(up);
      count = Math.min(count, later[members[up]!.at(-1)!]!.length);
    }
  }
  return sequence;
}
